// How old the news are: 'unknown' before the first, then 'live', 'late' from 3 s and 'dead' from 10 s.
// Two clocks are asked, because one stands still while a phone sleeps and the other may be set; the
// older verdict counts. Pulses that waited somewhere on the way are as old as they are late.
export const LATE_S = 3;
export const DEAD_S = 10;

export class Liveness {
  #line = null; // performance clock at the last news
  #wall = null; // wall clock at the last news
  #least = Infinity; // least difference seen between our wall clock and the pulses'
  #lag = 0;

  constructor({ line = () => performance.now(), wall = () => Date.now() } = {}) {
    this.now = { line, wall };
  }

  // A new stream: what was learned of its delay does not hold any more.
  opened() {
    this.#least = Infinity;
  }

  // A pulse that was sent at `at` (ms of the daemon's clock).
  pulse(at) {
    const gap = this.now.wall() - at;
    if (Number.isFinite(gap)) {
      this.#least = Math.min(this.#least, gap);
      this.#lag = (gap - this.#least) / 1000;
    }
    this.#line = this.now.line();
    this.#wall = this.now.wall();
  }

  // {level, age}: age in seconds, null if nothing was ever heard.
  read() {
    if (this.#line === null) return { level: 'unknown', age: null };
    const line = (this.now.line() - this.#line) / 1000;
    const wall = (this.now.wall() - this.#wall) / 1000;
    const age = Math.max(line, wall, 0) + this.#lag;
    const level = age >= DEAD_S ? 'dead' : age >= LATE_S ? 'late' : 'live';
    return { level, age };
  }
}
