// The event stream: nothing missed, nothing twice, alarms ahead of the disk, nobody held up.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { delay } from './harness/until.mjs';
import { Web, tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const plain = { tweak: tokens };
const published = (w) => w.seen.events().map((e) => e.body);

scenario(
  'events as they are committed, with their numbers, and pulses of ages',
  plain,
  async (w) => {
    const web = new Web(w);
    const stream = await web.stream();
    await stream.wait(() => stream.events.length > 0, 'the first pulse');
    const since = published(w).length;
    assert.ok(Number(stream.last) >= Number(published(w).at(-1)?.id ?? 0), 'it begins at now');
    await new Repair(w).to('confirmed');
    await stream.wait(() => stream.told('lockout.confirmed').length > 0, 'the confirmation');
    await w.seen.wait(() => stream.told().length === published(w).length - since, 'all of them');
    assert.deepEqual(stream.told(), published(w).slice(since));
    for (const e of stream.events.filter((x) => x.event === 'message'))
      assert.equal(e.id, e.data.id);
    const pulses = () => stream.events.filter((e) => e.event === 'heard');
    const before = pulses().length;
    await stream.wait(() => pulses().length >= before + 3, 'three pulses');
    const [first, , second] = pulses().slice(-3);
    const gap = (Date.parse(second.data.at) - Date.parse(first.data.at)) / 2;
    assert.ok(gap > 500 && gap < 4000, `pulses ${gap} ms apart`);
    const points = w.plan.sites.juniper.points.map((p) => p.point);
    assert.deepEqual(Object.keys(second.data.ages), points);
    assert.ok(second.data.ages['3-power'] >= 0 && second.data.ages['3-power'] < 5);
    await stream.close();
  },
);

scenario(
  'resumed over a kill of the daemon without a gap and without a copy',
  { ...plain, repeats: true },
  async (w) => {
    const web = new Web(w);
    const first = await web.stream({ after: 0 });
    const job = await new Repair(w).to('tagged');
    await first.wait(() => first.told('tag.hung').length === 2, 'the tags');
    await w.killDaemon();
    await first.gone;
    await w.startDaemon();
    await job.isolate();
    await job.tag();
    await job.confirm();
    const second = await web.stream({ last: first.last });
    await second.wait(() => second.told('lockout.confirmed').length > 0, 'the confirmation');
    await job.start();
    await second.wait(() => second.told('work.started').length > 0, 'the start');
    const both = [...first.told(), ...second.told()].map((e) => e.id);
    const all = (await web.get('/api/juniper/events?limit=1000')).map((e) => e.id);
    assert.deepEqual(both, all.slice(0, both.length));
    assert.ok(all.length - both.length < 3, 'the end is there');
    await second.close();
  },
);

scenario(
  'a thousand events that were missed come in order',
  { ...plain, maxAge: 60 },
  async (w) => {
    const web = new Web(w);
    await new Repair(w).to('working');
    const body = (i) => ({ job: 'J-1', check: 'tools-clear', note: `${i} ${'x'.repeat(400)}` });
    await Promise.all(
      Array.from({ length: 1000 }, (_, i) =>
        w.seen.request('t-104', 'sign-check', body(i), { timeout: 20000 }),
      ),
    );
    const stream = await web.stream({ after: 0 });
    await stream.wait(() => stream.told('check.signed').length >= 1000, 'all');
    const ids = stream.told().map((e) => Number(e.id));
    assert.ok(
      ids.every((id, i) => i === 0 || id > ids[i - 1]),
      'out of order or twice',
    );
    await w.ok('t-104', 'sign-check', { ...body(1001) });
    await stream.wait(() => stream.told('check.signed').length >= 1001, 'the next');
    await stream.close();
  },
);

scenario('a break is an alarm at once, and its events follow', plain, async (w) => {
  const web = new Web(w);
  const job = await new Repair(w).to('working');
  const stream = await web.stream();
  await stream.wait(() => stream.events.length > 0, 'the first pulse');
  await w.hw.set('3-power', 'live');
  await stream.wait(() => stream.told('lockout.broken').length > 0, 'the event');
  const alarm = stream.events.findIndex((e) => e.event === 'alarm');
  const broken = stream.events.findIndex((e) => e.data.type === 'forelock.lockout.broken');
  assert.ok(alarm >= 0 && alarm < broken, 'the alarm came after the commit');
  assert.deepEqual(stream.events[alarm].data, await job.alarm());
  assert.equal(stream.events[alarm].id, undefined);
  await stream.close();
});

scenario('what is malformed, and another site', plain, async (w) => {
  const web = new Web(w);
  await web.problem(400, 'GET', '/api/juniper/stream?after=x', { person: 'v-1' });
  const headers = { 'last-event-id': '-4' };
  await web.problem(400, 'GET', '/api/juniper/stream', { person: 'v-1', headers });
  // A number from a journal that is no longer there: it begins at now.
  const stream = await web.stream({ last: 999999999 });
  await w.ok('k-1', 'open-job', { job: 'J-1', position: '3A', procedure: 'boot' });
  await stream.wait(() => stream.told('job.opened').length === 1, 'what is new');
  await stream.close();
});

scenario(
  'many streams, and one that is never read, hold up nobody',
  { ...plain, maxAge: 60 },
  async (w) => {
    const web = new Web(w);
    const job = await new Repair(w).to('working');
    const dead = await web.raw(
      'GET /api/juniper/stream?after=0 HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer token-of-v-1\r\n\r\n',
    );
    dead.pause();
    const streams = await Promise.all(Array.from({ length: 300 }, () => web.stream()));
    const body = (i) => ({ job: 'J-1', check: 'tools-clear', note: `${i} ${'x'.repeat(450)}` });
    for (let round = 0; round < 4; round++)
      await Promise.all(
        Array.from({ length: 100 }, (_, i) =>
          w.seen.request('t-104', 'sign-check', body(i), { timeout: 20000 }),
        ),
      );
    const last = streams.at(-1);
    await Promise.all(
      streams.map((s) => s.wait(() => s.told('check.signed').length >= 400, 'all')),
    );
    const asked = Date.now();
    await w.hw.set('3-power', 'live');
    await last.wait(() => last.events.some((e) => e.event === 'alarm'), 'the alarm');
    const took = last.events.find((e) => e.event === 'alarm').at - asked;
    assert.ok(took < 1500, `the last of 300 saw the alarm after ${took} ms`);
    await job.phase('stopped', 'broken');
    await Promise.all(streams.map((s) => s.close()));
    dead.destroy();
    const gauge = async () => /forelock_http_streams (\d+)/.exec(await web.get('/metrics'))[1];
    for (let left = 1; left > 0; left = Number(await gauge())) await delay(50);
  },
);

scenario('a stream that is not read is dropped', { ...plain, maxAge: 60 }, async (w) => {
  const web = new Web(w);
  await new Repair(w).to('working');
  const text =
    'GET /api/juniper/stream HTTP/1.1\r\nHost: x\r\nAuthorization: Bearer token-of-v-1\r\n\r\n';
  const dead = await web.raw(text);
  dead.pause();
  const body = (i) => ({ job: 'J-1', check: 'tools-clear', note: `${i} ${'x'.repeat(490)}` });
  const metric = async (name) =>
    Number(new RegExp(`forelock_http_${name} (\\d+)`).exec(await web.get('/metrics'))[1]);
  assert.equal(await metric('streams'), 1);
  for (let i = 0; (await metric('streams_dropped_total')) === 0; i++) {
    assert.ok(i < 400, 'it is kept for ever');
    await Promise.all(
      Array.from({ length: 25 }, () =>
        w.seen.request('t-104', 'sign-check', body(i), { timeout: 20000 }),
      ),
    );
    await delay(100);
  }
  assert.equal(await metric('streams'), 0);
  dead.destroy();
});

scenario('a stream stays open when nothing happens', plain, async (w) => {
  const web = new Web(w);
  const stream = await web.stream();
  await stream.wait(() => stream.comments >= 3, 'three comment lines', 40000);
  await w.ok('k-1', 'open-job', { job: 'J-1', position: '3A', procedure: 'boot' });
  await stream.wait(() => stream.told('job.opened').length === 1, 'an event after that');
  await stream.close();
});

scenario('the daemon ends in good order with streams and half requests open', plain, async (w) => {
  const web = new Web(w);
  const streams = await Promise.all(Array.from({ length: 20 }, () => web.stream()));
  const half = await Promise.all(Array.from({ length: 20 }, () => web.raw('GET /api/jun')));
  const asked = Array.from({ length: 20 }, (_, i) =>
    web.post('t-104', 'join-job', { id: `j-${i}`, job: 'J-9' }).catch(() => null),
  );
  await w.stopDaemon();
  await Promise.all([...asked, ...streams.map((s) => s.gone), ...half.map((s) => s.gone)]);
  await w.startDaemon();
  assert.equal((await web.get('/api/juniper')).site, 'juniper');
});

scenario('documents that change, as they are retained', plain, async (w) => {
  const web = new Web(w);
  const stream = await web.stream();
  const site = await web.get('/api/juniper');
  const job = await new Repair(w).to('working');
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  const { alarm } = await job.alarm();
  const docs = new Map();
  const apply = () => {
    for (const { event, data } of stream.events)
      if (event === 'document' && data.after >= site.after) docs.set(data.path, data.document);
    return docs;
  };
  await stream.wait(() => apply().get('job/J-1')?.phase === 'stopped', 'the job');
  assert.equal(docs.get(`alarm/${alarm}`).kind, 'lockout-broken');
  assert.equal(docs.get('position/3A').phase, 'stopped');
  assert.equal(docs.get('point/3-power').state, 'live');
  // Without the broker too; and what is gone is told as gone.
  await w.hw.set('3-power', 'isolated');
  await stream.wait(
    () =>
      apply().get('point/3-power').trust === 'fresh' &&
      docs.get('point/3-power').state === 'isolated',
    'isolated',
  );
  await w.broker.stop();
  const answer = await web.post('t-104', 'acknowledge-alarm', { alarm });
  assert.equal(answer.status, 200, answer.text);
  await stream.wait(
    () => ['acknowledged', undefined].includes(apply().get(`alarm/${alarm}`)?.state),
    'the alarm',
  );
  await stream.close();
  await w.broker.start();
  await w.seen.wait(() => w.seen.client.connected && w.seen.subscribed, 'the observer');
});
