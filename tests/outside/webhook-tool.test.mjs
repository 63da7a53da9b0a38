// `forelock webhook`: the operator's view of webhooks, from outside.
import assert from 'node:assert/strict';
import { after } from 'node:test';
import { accessSync, constants, readdirSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { Receiver, SECRET } from './harness/receiver.mjs';
import { freePort } from './harness/broker.mjs';
import { Repair } from './harness/repair.mjs';
import { until } from './harness/until.mjs';
import { scenario } from './harness/world.mjs';

const receiver = await new Receiver().listen();
after(() => receiver.close());
const closed = await freePort();
const files = (p) => {
  p.files = { 'tracker.secret': `${SECRET}\n`, 'raw.secret': 'not base 64, but a secret\n' };
  p.main.webhooks = [
    { webhook: 'tracker', url: receiver.url, secret_file: 'tracker.secret' },
    { url: `http://127.0.0.1:${closed}/`, secret_file: 'raw.secret' },
  ];
};

const still = { tweak: files, daemon: false };

scenario('test sends one signed event and says what came of it', still, async (w) => {
  const json = async (id) => {
    const { code, out, err } = await w.tool('webhook', 'test', id, '--json');
    return { code, err, ...(out ? JSON.parse(out) : {}) };
  };
  const good = await json('tracker');
  assert.deepEqual([good.code, good.taken, good.status, good.hint], [0, true, 204, null]);
  const { event } = receiver.all.at(-1);
  assert.equal(event.type, 'forelock.webhook.test');
  assert.equal(receiver.all.at(-1).id, good.id);
  const answers = [
    [401, /secrets/],
    [{ status: 307, headers: { location: receiver.url } }, /redirects/],
    [410, /no more/],
    [500, /log/],
  ];
  for (const [answer, hint] of answers) {
    const before = receiver.all.length;
    receiver.answer = () => answer;
    const bad = await json('tracker');
    assert.deepEqual([bad.code, bad.taken, bad.status], [1, false, answer.status ?? answer]);
    assert.match(bad.hint, hint);
    assert.equal(receiver.all.length, before + 1);
  }
  receiver.answer = () => 200;
  const away = await json(`127.0.0.1-${closed}`);
  assert.deepEqual([away.code, away.taken, away.status], [1, false, null]);
  assert.match(away.say, /no connection/);
  const text = await w.tool('webhook', 'test', 'tracker');
  assert.match(text.out, /^tracker: answered 200/);
  const unknown = await json('trakcer');
  assert.equal(unknown.code, 1);
  assert.match(unknown.err, /there is no webhook "trakcer"/);
  assert.deepEqual(receiver.wrong, []);
});

scenario('list and retry, without a daemon and with one', still, async (w) => {
  const before = receiver.all.length;
  assert.equal((await w.tool('webhook', 'list')).code, 4, 'there is no journal yet');
  const early = await w.tool('webhook', 'retry', 'tracker');
  assert.equal(early.code, 4);
  assert.match(early.err, /no daemon has taken the word/);
  const folder = dirname(join(w.dir, w.plan.main.journal));
  accessSync(join(folder, 'forelock.db.webhook-tracker.retry'), constants.F_OK);
  await w.startDaemon();
  await until(() => !readdirSync(folder).some((f) => f.endsWith('.retry')), 'the word to be taken');
  await w.startHardware();
  await new Repair(w).to('open');
  await receiver.event('job.opened', 'J-1');
  const [tracker, other] = await until(async () => {
    const { out } = await w.tool('webhook', 'list', '--json');
    const all = JSON.parse(out).webhooks;
    return all[0].waits === 0 && all[0].last_success && all[1].waits > 0 && all;
  }, 'both states');
  assert.deepEqual([tracker.webhook, tracker.state, tracker.failure], ['tracker', 'up', null]);
  assert.deepEqual([other.webhook, other.state], [`127.0.0.1-${closed}`, 'waiting']);
  assert.ok(Date.parse(other.oldest) <= Date.now() && Date.parse(other.next_try) > 0);
  const { code, out } = await w.tool('webhook', 'list');
  assert.equal(code, 0);
  assert.match(out, /tracker {2}up {2}http.*\n {4}nothing waits\n {4}last success: /);
  assert.match(out, /waiting .*\n {4}\d+ events wait, the oldest for /);
  const retried = await w.tool('webhook', 'retry', 'tracker', '--json');
  assert.deepEqual([retried.code, JSON.parse(retried.out).taken], [0, true]);
  assert.ok(receiver.all.length > before);
  await w.stopDaemon();
});
