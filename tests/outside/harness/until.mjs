// Waiting on conditions. Nothing here guesses how long something takes: a wait ends when its
// condition holds, and its limit only decides when to give up and say what was seen instead.
export const PATIENCE = Number(process.env.FORELOCK_TEST_PATIENCE_MS ?? 20000);

export const delay = (ms) => new Promise((resolve) => setTimeout(resolve, ms));

// Polls an async or plain `probe` until it returns something truthy, which is the result.
export async function until(probe, what, { timeout = PATIENCE, every = 20 } = {}) {
  const end = Date.now() + timeout;
  for (;;) {
    const result = await probe();
    if (result) return result;
    if (Date.now() >= end)
      throw new Error(`gave up after ${timeout} ms: ${typeof what === 'function' ? what() : what}`);
    await delay(every);
  }
}

// A list of waiters that are asked again whenever something arrives.
export class Waiters {
  #list = new Set();

  // Resolves to the first truthy result of `probe`, which is asked now and after every arrival.
  wait(probe, what, timeout = PATIENCE) {
    const now = probe();
    if (now) return Promise.resolve(now);
    // The stack is taken here, so that a failure names the scenario's line and not a timer.
    const failure = new Error();
    return new Promise((resolve, reject) => {
      const waiter = { probe, resolve };
      waiter.timer = setTimeout(() => {
        this.#list.delete(waiter);
        failure.message = `gave up after ${timeout} ms: ${typeof what === 'function' ? what() : what}`;
        failure.stack = failure.stack.replace(/^Error/, `Error: ${failure.message}`);
        reject(failure);
      }, timeout);
      this.#list.add(waiter);
    });
  }

  arrived() {
    for (const waiter of this.#list) {
      const result = waiter.probe();
      if (!result) continue;
      clearTimeout(waiter.timer);
      this.#list.delete(waiter);
      waiter.resolve(result);
    }
  }

  close() {
    for (const waiter of this.#list) clearTimeout(waiter.timer);
    this.#list.clear();
  }
}
