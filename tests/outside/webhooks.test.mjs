// Webhooks: signed, in order for each job, at least once, whatever the receiver does.
import assert from 'node:assert/strict';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Receiver, SECRET } from './harness/receiver.mjs';
import { Repair } from './harness/repair.mjs';
import { EVENTS } from './harness/shape.mjs';
import { until } from './harness/until.mjs';
import { Web, tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const SECRET_FILE = 'tracker.secret';

// A scenario with one webhook, "tracker", to a receiver of its own.
function hooked(name, { receiver: make = {}, more = {}, tweak, ...options }, body) {
  let receiver;
  const wired = {
    ...options,
    // The receiver listens before the configuration is written, which names its port.
    before: async () => (receiver = await new Receiver(make).listen()),
    tweak: (p, w) => {
      p.files = { ...p.files, [SECRET_FILE]: `${SECRET}\n` };
      p.main.webhooks = [
        { webhook: 'tracker', url: receiver.url, secret_file: SECRET_FILE, ...more },
      ];
      tweak?.(p, w);
    },
  };
  scenario(name, wired, async (w, t) => {
    try {
      await body(w, receiver, t);
      await w.stopDaemon();
      assert.deepEqual(receiver.wrong, []);
      inOrder(receiver);
    } finally {
      await receiver.close();
    }
  });
}

// Each job's events were taken in the journal's order, and those of no job as well.
function inOrder(receiver) {
  const last = new Map();
  for (const event of receiver.taken()) {
    const lane = event.data.job ?? '';
    assert.ok(Number(event.id) > (last.get(lane) ?? 0), `${event.type} ${event.id} of ${lane}`);
    last.set(lane, Number(event.id));
  }
}

const list = async (w) => {
  const { code, out, err } = await w.tool('webhook', 'list', '--json');
  assert.equal(code, 0, err);
  return JSON.parse(out).webhooks[0];
};
const retry = async (w) => {
  const { code, err } = await w.tool('webhook', 'retry', 'tracker');
  assert.equal(code, 0, err);
};

// Everything published since the daemon first came up was taken.
async function allTaken(w, receiver) {
  const published = new Set(EVENTS.map((type) => `forelock.${type}`));
  const lines = (await w.journal()).filter((l) => published.has(l.type));
  await receiver.wait(
    () => receiver.taken().length >= lines.length,
    () => `${lines.length} events; taken ${receiver.taken().length}`,
  );
  const got = new Map(receiver.taken().map((e) => [Number(e.id), e]));
  for (const line of lines) {
    const event = got.get(line.seq);
    assert.ok(event, `${line.type} ${line.seq} was not taken`);
    assert.deepEqual([event.type, event.data], [line.type, line.data]);
  }
  return lines;
}

hooked('events come signed, as they are on the broker', {}, async (w, receiver) => {
  await new Repair(w).to('working');
  await receiver.event('work.started', 'J-1');
  await allTaken(w, receiver);
  for (const { id, event, body, headers } of receiver.all) {
    assert.equal(headers['content-type'], 'application/cloudevents+json; charset=utf-8');
    assert.equal(id, `edge-1:juniper:${event.id}`);
    const published = await w.seen.wait(
      () => w.seen.events().find((e) => e.body.id === event.id),
      `event ${event.id} on the broker`,
    );
    assert.deepEqual(JSON.parse(body), published.body);
  }
  const standing = await until(
    async () => {
      const now = await list(w);
      return now.waits === 0 && now.last_success && now;
    },
    'nothing to wait',
  );
  assert.equal(standing.state, 'up');
});

hooked('the return tells where the fuel of each product went', {}, async (w, receiver) => {
  const job = await new Repair(w).to('passed');
  await job.ask('record-fuel', { product: 'regular', unit: 'L', drawn: 20, returned: 15 });
  await job.ask('record-fuel', { product: 'regular', unit: 'L', kept: 5 });
  await job.ask('return-position');
  const { data } = await receiver.event('job.returned', 'J-1');
  const [{ tolerance, ...sum }, ...others] = data.fuel;
  assert.deepEqual(others, []);
  const whole = { drawn: 20, returned: 15, kept: 5, unaccounted: 0, unit: 'L', accounted: true };
  assert.deepEqual(sum, { product: 'regular', ...whole });
  // NIST Handbook 44 3.30 T.2: 1 in3 and 1 in3 a gallon; 231 in3 and 3.785411784 L are a gallon.
  const gallon = 3.785411784;
  assert.ok(Math.abs(tolerance - ((1 + 20 / gallon) / 231) * gallon) < 1e-6);
  await allTaken(w, receiver);
});

hooked('a job that is refused waits, others go on', {}, async (w, receiver) => {
  const answers = [500, { status: 302, headers: { location: receiver.url + '2' } }, 404];
  let turn = 0;
  receiver.answer = (e) => (e.data.job === 'J-1' ? answers[turn++ % 3] : 200);
  await new Repair(w).to('open');
  await receiver.wait(() => receiver.all.some((d) => d.event.data.job === 'J-1'), 'J-1 refused');
  await new Repair(w, { job: 'J-2', position: '4A', leader: 't-105' }).to('tagged');
  await receiver.event('tag.hung', 'J-2');
  assert.ok(!receiver.taken().some((e) => e.data.job === 'J-1'));
  // The first try comes again by itself, after some seconds.
  await receiver.wait(
    () => receiver.all.filter((d) => d.event.data.job === 'J-1').length >= 2,
    'the second try',
  );
  await w.ok('k-1', 'cancel-job', { job: 'J-1', reason: 'another kit' });
  const standing = await until(async () => {
    const now = await list(w);
    return now.state === 'waiting' && now.waits >= 2 && now;
  }, 'the webhook to wait');
  assert.match(standing.failure, /^answered (500|302|404)/);
  const ids = receiver.all.filter((d) => d.event.data.job === 'J-1').map((d) => d.id);
  assert.equal(new Set(ids).size, 1, 'an event was sent before the one ahead of it was taken');
  assert.ok(receiver.all.every((d) => d.path === '/hook'), 'a redirect was followed');
  receiver.answer = () => 200;
  await retry(w);
  await receiver.event('job.cancelled', 'J-1');
  await allTaken(w, receiver);
});

hooked('a receiver that stalls delays no stop', {}, async (w, receiver) => {
  const job = await new Repair(w).to('confirmed');
  await receiver.event('lockout.confirmed', 'J-1');
  receiver.answer = () => null;
  await job.start();
  await receiver.wait(() => receiver.all.some((d) => d.answered === undefined), 'a stall');
  await w.hw.set('3-power', 'live');
  await job.alarm();
  await job.phase('stopped');
  // The stop was told while the receiver still held what came before it.
  assert.ok(receiver.all.some((d) => d.answered === undefined && !d.closed));
  assert.ok(!receiver.all.some((d) => d.event.type === 'forelock.lockout.broken'));
  receiver.answer = () => 200;
  await receiver.wait(() => receiver.all.every((d) => d.answered || d.closed), 'an end', 40000);
  await retry(w);
  await receiver.event('lockout.broken', 'J-1');
  await allTaken(w, receiver);
});

hooked('a receiver that stalls delays no end of the daemon', {}, async (w, receiver) => {
  receiver.answer = () => null;
  await new Repair(w).to('open');
  await receiver.wait(() => receiver.all.some((d) => d.answered === undefined), 'a stall');
  const begun = performance.now();
  await w.stopDaemon();
  assert.ok(performance.now() - begun < 8000, 'the end waited for the receiver');
});

hooked('what a kill leaves in doubt comes again under its id', {}, async (w, receiver) => {
  await new Repair(w).to('open');
  await receiver.event('job.opened', 'J-1');
  receiver.answer = () => null;
  await w.ok('k-1', 'cancel-job', { job: 'J-1', reason: 'another kit' });
  // The receiver has it, and no answer was given.
  const held = await receiver.wait(
    () => receiver.all.find((d) => d.answered === undefined),
    'the delivery',
  );
  await w.killDaemon();
  receiver.answer = () => 200;
  await w.startDaemon();
  await receiver.event('job.cancelled', 'J-1');
  await receiver.wait(
    () => receiver.all.filter((d) => d.id === held.id).length >= 2,
    'the same again',
  );
  await allTaken(w, receiver);
});

hooked(
  'a receiver that is away raises an alarm, and catches up',
  { more: { alarm_after_s: 1 } },
  async (w, receiver) => {
    const { port } = receiver;
    await receiver.close();
    await new Repair(w).to('tagged');
    const alarm = await w.seen.alarm('webhook-down', (a) => a.state === 'unacknowledged');
    assert.match(alarm.say, /tracker/);
    const standing = await until(async () => {
      const now = await list(w);
      return now.waits > 5 && now;
    }, 'events to wait');
    assert.equal(standing.state, 'waiting');
    assert.match(standing.failure, /connection/i);
    await receiver.listen(port);
    await retry(w);
    await receiver.event('tag.hung', 'J-1');
    await w.seen.alarm('webhook-down', (a) => a.state === 'returned-unacknowledged');
    await allTaken(w, receiver);
  },
);

hooked(
  '410 disables until the operator retries, over a restart too',
  { more: { alarm_after_s: 1 }, tweak: tokens },
  async (w, receiver) => {
    receiver.answer = () => 410;
    await new Repair(w).to('open');
    const gone = await until(async () => {
      const now = await list(w);
      return now.state === 'disabled' && now;
    }, 'the webhook to be disabled');
    assert.match(gone.failure, /410 Gone/);
    assert.equal(gone.next_try, null);
    await w.seen.alarm('webhook-down', () => true);
    const web = new Web(w);
    const figures = await web.get('/metrics');
    assert.match(figures, /^forelock_webhook_disabled\{webhook="tracker"\} 1$/m);
    assert.match(figures, /^forelock_webhook_up\{webhook="tracker"\} 0$/m);
    assert.match(figures, /^forelock_webhook_sender_alive 1$/m);
    assert.equal((await web.get('/health')).status, 'ok', 'a webhook is no matter of health');
    await w.stopDaemon();
    await w.startDaemon();
    const before = receiver.all.length;
    await w.ok('k-1', 'cancel-job', { job: 'J-1', reason: 'another kit' });
    await w.fence();
    assert.equal((await list(w)).state, 'disabled');
    assert.equal(receiver.all.length, before, 'something was sent');
    receiver.answer = () => 200;
    await retry(w);
    await receiver.event('job.cancelled', 'J-1');
    await allTaken(w, receiver);
  },
);

hooked('keys rotate: both sign, and SIGHUP reads them again', {}, async (w, receiver) => {
  const file = join(w.dir, SECRET_FILE);
  const next = 'whsec_dGhlIG5leHQgc2VjcmV0IG9mIHRoZSB0cmFja2Vycw==';
  await new Repair(w).to('open');
  const first = await receiver.event('job.opened', 'J-1');
  const signed = receiver.all.find((d) => d.event.id === first.id).headers['webhook-signature'];
  assert.equal(signed.split(' ').length, 1);
  writeFileSync(file, `${next}\n${readFileSync(file, 'utf8')}`);
  w.daemon.child.kill('SIGHUP');
  await until(() => /secrets were read again: 2/.test(w.daemon.err), 'two secrets');
  await w.ok('k-1', 'cancel-job', { job: 'J-1', reason: 'another kit' });
  await receiver.event('job.cancelled', 'J-1');
  receiver.secret = next;
  await new Repair(w, { job: 'J-2' }).to('open');
  await receiver.event('job.opened', 'J-2');
  // A file that holds nothing leaves the secrets as they were.
  writeFileSync(file, '\n');
  w.daemon.child.kill('SIGHUP');
  await until(() => /the secrets from before are kept/.test(w.daemon.err), 'the refusal');
  await w.ok('k-1', 'cancel-job', { job: 'J-2', reason: 'another kit' });
  await receiver.event('job.cancelled', 'J-2');
  writeFileSync(file, `${SECRET}\n`);
});

hooked(
  'only the events and sites asked for are sent',
  { more: { events: ['forelock.job.opened', 'job.cancelled'], sites: ['juniper'] } },
  async (w, receiver) => {
    await new Repair(w).to('tagged');
    await w.ok('t-104', 'lift-tag', { job: 'J-1', point: '3-power' });
    await w.ok('t-104', 'lift-tag', { job: 'J-1', point: '3-product' });
    await w.ok('k-1', 'cancel-job', { job: 'J-1', reason: 'another kit' });
    await receiver.event('job.cancelled', 'J-1');
    assert.deepEqual(
      receiver.taken().map((e) => e.type),
      ['forelock.job.opened', 'forelock.job.cancelled'],
    );
  },
);

// A certificate by an authority of which the daemon does not know is not to be trusted.
scenario(
  'TLS: only a certificate that the configured authority vouches for',
  {
    secure: true,
    tweak: (p) => {
      p.files = { [SECRET_FILE]: `${SECRET}\n` };
      const url = 'https://127.0.0.1:1/';
      const to = (webhook, more) => ({ webhook, url, secret_file: SECRET_FILE, ...more });
      p.main.webhooks = [
        to('trusted', { ca_file: 'secure/authority.crt' }),
        to('stranger', { ca_file: 'secure/stranger.crt' }),
        to('system'),
      ];
    },
    daemon: false,
  },
  async (w) => {
    const at = (name) => readFileSync(join(w.dir, 'secure', name));
    const receiver = await new Receiver({
      tls: { key: at('broker.key'), cert: at('broker.crt') },
    }).listen();
    try {
      for (const hook of w.plan.main.webhooks) hook.url = receiver.url;
      w.plan.main.webhooks.push({
        ...w.plan.main.webhooks[0],
        webhook: 'other-name',
        url: receiver.url.replace('127.0.0.1', 'localhost'),
      });
      writeFileSync(w.file, JSON.stringify(w.plan.main));
      await w.startDaemon();
      await w.startHardware();
      await new Repair(w).to('open');
      await receiver.event('job.opened', 'J-1');
      const states = await until(async () => {
        const { out } = await w.tool('webhook', 'list', '--json');
        const all = JSON.parse(out).webhooks;
        return all.slice(1).every((h) => h.state === 'waiting') && all;
      }, 'the others to be refused');
      for (const hook of states.slice(1)) {
        assert.match(hook.failure, /^its certificate is not to be trusted/, hook.webhook);
        assert.equal(hook.last_success, null);
      }
      await until(async () => {
        const { out } = await w.tool('webhook', 'list', '--json');
        return JSON.parse(out).webhooks[0].last_success;
      }, 'the trusted one to be taken');
      assert.equal(new Set(receiver.all.map((d) => d.id)).size, receiver.all.length);
      assert.deepEqual(receiver.wrong, []);
    } finally {
      await w.stopDaemon();
      await receiver.close();
    }
  },
);
