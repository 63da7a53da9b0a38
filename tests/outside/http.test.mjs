// The HTTP API: every route, who may see it, what a request is answered.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { Web, tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const plain = { tweak: tokens };
const TIME = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/;
const without = (document, ...names) =>
  Object.fromEntries(Object.entries(document).filter(([name]) => !names.includes(name)));

const READABLE = [
  '/metrics',
  '/api/juniper',
  '/api/juniper/position/3A',
  '/api/juniper/point/3-power',
  '/api/juniper/job/J-1',
  '/api/juniper/job/J-1/gate',
  '/api/juniper/events',
  '/api/juniper/downtime',
];

scenario('documents are those that are published, as of now', plain, async (w) => {
  const web = new Web(w);
  await new Repair(w).to('working');
  const { docs } = w.seen;
  const position = await web.get('/api/juniper/position/3A');
  assert.deepEqual(position, docs.get('juniper/position/3A'));
  const job = await web.get('/api/juniper/job/J-1');
  assert.deepEqual(without(job, 'missing'), without(docs.get('juniper/job/J-1'), 'missing'));
  assert.ok(job.missing.length > 0);
  const first = await web.get('/api/juniper/point/3-power');
  assert.deepEqual(without(first, 'heard'), without(docs.get('juniper/point/3-power'), 'heard'));
  await w.seen.wait(
    () => Date.now() > Date.parse(first.heard) + 1500,
    'the point to be heard again',
  );
  const later = await web.get('/api/juniper/point/3-power');
  assert.ok(Date.parse(later.heard) > Date.parse(first.heard), 'heard is not of now');
  assert.deepEqual(without(later, 'heard'), without(first, 'heard'));
});

scenario('a site as one object, and an alarm', plain, async (w) => {
  const web = new Web(w);
  const job = await new Repair(w).to('working');
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  const { alarm } = await job.alarm();
  const document = await web.get(`/api/juniper/alarm/${alarm}`);
  assert.deepEqual(document, w.seen.docs.get(`juniper/alarm/${alarm}`));
  const site = await web.get('/api/juniper');
  assert.equal(site.site, 'juniper');
  assert.equal(site.title, 'Juniper Crossing');
  assert.match(site.at, TIME);
  assert.deepEqual([site.link, site.journal, site.contested], [true, true, false]);
  assert.deepEqual(
    site.positions.map((p) => p.position),
    ['3A', '3B', '4A', '5A', '9A'],
  );
  assert.equal(site.points.length, 8);
  assert.deepEqual(
    site.jobs.map((j) => [j.job, j.phase]),
    [['J-1', 'stopped']],
  );
  assert.deepEqual(site.alarms, [document]);
  const events = await web.get(`/api/juniper/events?limit=1000`);
  assert.equal(site.after >= Number(events.at(-1).id), true);
});

scenario('the next gate: each requirement, met or not, with its age', plain, async (w) => {
  const web = new Web(w);
  const job = await new Repair(w).to('isolated');
  const gate = await web.get('/api/juniper/job/J-1/gate');
  assert.deepEqual([gate.job, gate.gate, gate.open], ['J-1', 'start', false]);
  const found = (code, subject) =>
    gate.requirements.find((r) => r.code === code && r.subject === subject);
  assert.equal(found('tag-missing', '3-power').met, false);
  const power = gate.requirements.find((r) => r.subject === '3-power' && /^point-/.test(r.code));
  assert.equal(power.met, true);
  assert.ok(power.age_s >= 0 && power.age_s < 5, JSON.stringify(power));
  for (const r of gate.requirements)
    for (const name of ['met', 'code', 'subject', 'need', 'found', 'age_s', 'say'])
      assert.ok(name in r, `${name} in ${JSON.stringify(r)}`);
  const power2 = gate.evidence.find((e) => e.point === '3-power');
  assert.deepEqual([power2.state, power2.trust], ['isolated', 'fresh']);
  assert.match(power2.heard, TIME);
  await job.tag();
  await job.confirm();
  const open = await web.get('/api/juniper/job/J-1/gate');
  assert.equal(open.open, true);
  assert.ok(open.requirements.length > 5 && open.requirements.every((r) => r.met));
});

scenario('nothing without a token but /health', plain, async (w) => {
  const web = new Web(w);
  await new Repair(w).to('open');
  for (const path of [...READABLE, '/api/juniper/stream', '/nothing', '/api/elsewhere']) {
    const { headers } = await web.problem(401, 'GET', path, {});
    assert.match(headers['www-authenticate'], /^Bearer/);
    await web.problem(401, 'GET', path, { token: 'token-of-nobody' });
    await web.problem(401, 'GET', path, { headers: { authorization: 'Basic dDoxMDQ=' } });
    await web.problem(401, 'GET', path, { headers: { authorization: 'Bearer ' } });
  }
  await web.problem(401, 'POST', '/api/juniper/request/open-job', { body: {} });
  const { status, body, headers } = await web.ask('GET', '/health');
  assert.equal(status, 200);
  assert.deepEqual(body, { status: 'ok', link: true, journal: true });
  assert.equal(headers['cache-control'], 'no-store');
  assert.equal(headers['x-content-type-options'], 'nosniff');
  assert.match(headers['content-security-policy'], /default-src 'none'/);
});

scenario('any role may look at its sites, and at no others', plain, async (w) => {
  const web = new Web(w);
  await new Repair(w).to('open');
  for (const person of ['t-104', 's-1', 'm-1', 'k-1', 'v-1'])
    for (const path of READABLE) await web.get(path, person);
  for (const path of READABLE.slice(1)) await web.problem(403, 'GET', path, { person: 't-108' });
  await web.problem(403, 'GET', '/api/juniper/stream', { person: 't-108' });
  for (const path of [
    '/api/elsewhere',
    '/api/juniper/position/8Z',
    '/api/juniper/point/nothing',
    '/api/juniper/job/J-2',
    '/api/juniper/job/J-2/gate',
    '/api/juniper/alarm/none',
    '/api/juniper/signal/3-power',
    '/api/juniper/position',
    '/api/juniper/',
    '/api//position/3A',
    '/api/juniper/position/3A/more/still/more',
    '/api/juniper/position/%zz',
    '/api/juniper/position/3%00A',
    `/api/juniper/position/${'x'.repeat(200)}`,
    '/nothing',
  ])
    await web.problem(404, 'GET', path, { person: 'v-1' });
  assert.equal((await web.get('/api/%6auniper/position/3%41')).position, '3A');
});

scenario('methods', plain, async (w) => {
  const web = new Web(w);
  for (const method of ['POST', 'PUT', 'DELETE', 'PATCH', 'OPTIONS']) {
    const { headers } = await web.problem(405, method, '/api/juniper', { person: 'v-1' });
    assert.equal(headers.allow, 'GET, HEAD');
  }
  const { headers } = await web.problem(405, 'GET', '/api/juniper/request/open-job', {
    person: 'v-1',
  });
  assert.equal(headers.allow, 'POST');
  const got = await web.ask('GET', '/api/juniper/position/4A', { person: 'v-1' });
  const head = await web.ask('HEAD', '/api/juniper/position/4A', { person: 'v-1' });
  assert.deepEqual([head.status, head.text], [200, '']);
  assert.equal(head.headers['content-length'], got.headers['content-length']);
  assert.equal((await web.ask('HEAD', '/api/juniper/stream', { person: 'v-1' })).status, 200);
});

scenario('what a request is answered, by its codes', plain, async (w) => {
  const web = new Web(w);
  const opening = { job: 'J-1', position: '3A', procedure: 'boot', technician: 't-104' };
  const codes = ({ body }) => [...new Set(body.refusals.map((r) => r.code))].sort();
  const expect = async (status, code, answering) => {
    const answer = await answering;
    assert.equal(answer.status, status, answer.text);
    assert.match(answer.headers['content-type'], /^application\/json/);
    assert.equal(answer.body.accepted, false);
    assert.ok(codes(answer).includes(code), answer.text);
  };
  const good = await web.post('k-1', 'open-job', { id: 'r-1', ...opening });
  assert.equal(good.status, 200, good.text);
  assert.deepEqual(
    [good.body.id, good.body.verb, good.body.accepted, good.body.job, good.body.phase],
    ['r-1', 'open-job', true, 'J-1', 'open'],
  );
  await w.job('J-1');
  await expect(400, 'malformed', web.post('k-1', 'open-job', '{"job":'));
  await expect(400, 'malformed', web.post('k-1', 'open-job', ''));
  await expect(400, 'malformed', web.post('k-1', 'open-job', { job: 'J-2' }));
  await expect(403, 'not-allowed', web.post('v-1', 'open-job', { ...opening, job: 'J-2' }));
  await expect(403, 'not-allowed', web.post('t-108', 'join-job', { job: 'J-1' }));
  await expect(404, 'unknown-verb', web.post('k-1', 'close-job', { job: 'J-1' }));
  await expect(404, 'unknown-site', web.post('k-1', 'open-job', opening, { site: 'elsewhere' }));
  await expect(409, 'job-exists', web.post('k-1', 'open-job', opening));
  await expect(409, 'unknown-job', web.post('t-104', 'start-work', { job: 'J-9' }));
  await expect(409, 'id-reused', web.post('k-1', 'open-job', { id: 'r-1', ...opening, note: 'x' }));
  // Several: what is not allowed wins.
  await expect(403, 'not-allowed', web.post('v-1', 'open-job', opening));
  await web.problem(404, 'POST', '/api/juniper/request/%20', { person: 'k-1', body: {} });
  const start = await web.post('t-104', 'start-work', { job: 'J-1' });
  assert.equal(start.status, 409);
  assert.ok(
    codes(start).includes('point-live') && codes(start).includes('tag-missing'),
    start.text,
  );
});

scenario('an id is one over both ways', { ...plain, repeats: true }, async (w) => {
  const web = new Web(w);
  const body = { id: 'r-1', job: 'J-1', position: '3A', procedure: 'boot', technician: 't-104' };
  const first = await w.ok('k-1', 'open-job', body);
  const again = await web.post('k-1', 'open-job', body);
  assert.deepEqual([again.status, again.body], [200, { ...again.body, ...first, again: true }]);
  const cancel = { id: 'r-2', job: 'J-1', reason: 'a mistake' };
  const done = await web.post('m-1', 'cancel-job', cancel);
  assert.deepEqual([done.status, done.body.phase], [200, 'cancelled']);
  await w.killDaemon();
  await w.startDaemon();
  const after = await w.ok('m-1', 'cancel-job', cancel);
  assert.deepEqual([after.again, after.at], [true, done.body.at]);
  const kinds = (await w.journal()).map((l) => l.type.replace(/^forelock\./, ''));
  assert.equal(kinds.filter((k) => k === 'job.opened').length, 1);
  assert.equal(kinds.filter((k) => k === 'job.cancelled').length, 1);
});

scenario('many at once: each is done once, and a read sees what was answered', plain, async (w) => {
  const web = new Web(w);
  await new Repair(w).to('working');
  const asked = Array.from({ length: 60 }, async (_, i) => {
    const body = { id: `s-${i}`, job: 'J-1', check: 'tools-clear', note: `round ${i}` };
    const answer = await web.post('t-104', 'sign-check', body);
    assert.equal(answer.status, 200, answer.text);
    const job = await web.get('/api/juniper/job/J-1');
    assert.equal(job.checks.find((c) => c.check === 'tools-clear').by, 't-104');
  });
  await Promise.all(asked);
  const signed = (await w.journal()).filter((l) => JSON.stringify(l.data).includes('"round '));
  assert.equal(new Set(signed.map((l) => l.data.note)).size, 60);
  assert.equal(signed.length, 60);
});

scenario('too many of one person are told to wait, others are not', plain, async (w) => {
  const web = new Web(w);
  const flood = Array.from({ length: 450 }, () => web.post('v-1', 'join-job', { job: 'J-9' }));
  const answers = await Promise.all(flood);
  const limited = answers.filter((a) => a.status === 429);
  assert.ok(limited.length > 0, 'nobody was told to wait');
  assert.ok(answers.filter((a) => a.status === 409).length >= 200);
  assert.equal(limited[0].headers['retry-after'], '1');
  assert.equal(limited[0].headers['content-type'], 'application/problem+json');
  assert.equal((await web.post('t-104', 'join-job', { job: 'J-9' })).status, 409);
});

scenario('requests and reads without the broker', plain, async (w) => {
  const web = new Web(w);
  await new Repair(w).to('open');
  await w.broker.stop();
  await w.seen.wait(() => !w.seen.client.connected, 'the observer to be off');
  for (let health; health?.status !== 503;) health = await web.ask('GET', '/health');
  assert.deepEqual((await web.ask('GET', '/health')).body, {
    status: 'failing',
    link: false,
    journal: true,
  });
  const stream = await web.stream();
  const stop = await web.post('m-1', 'cancel-job', { job: 'J-1', reason: 'no link' });
  assert.equal(stop.status, 200, stop.text);
  assert.equal((await web.get('/api/juniper/job/J-1')).phase, 'cancelled');
  await stream.wait(() => stream.told('job.cancelled').length === 1, 'the event');
  await stream.close();
  await w.broker.start();
  await w.seen.wait(() => w.seen.client.connected && w.seen.subscribed, 'the observer');
  await w.job('J-1', (d) => d.phase === 'cancelled', 'cancelled');
});

scenario('events by pages', plain, async (w) => {
  const web = new Web(w);
  await new Repair(w).to('confirmed');
  const all = await web.get('/api/juniper/events?limit=1000');
  assert.deepEqual(
    all,
    w.seen.events().map((e) => e.body),
  );
  const paged = [];
  for (
    let after = 0, page;
    (page = await web.get(`/api/juniper/events?after=${after}&limit=3`)).length;
  ) {
    assert.ok(page.length <= 3);
    paged.push(...page);
    after = page.at(-1).id;
  }
  assert.deepEqual(paged, all);
  assert.deepEqual(await web.get('/api/juniper/events?after=9223372036854775000'), []);
  for (const query of [
    'after=-1',
    'after=x',
    'limit=0',
    'limit=1e3',
    'after=99999999999999999999',
    'after=',
  ])
    await web.problem(400, 'GET', `/api/juniper/events?${query}`, { person: 'v-1' });
});

scenario('metrics', plain, async (w) => {
  const web = new Web(w);
  await new Repair(w).to('open');
  await w.seen.client.publishAsync?.('forelock/juniper/signal/nothing', '{}');
  await web.ask('GET', '/api/juniper', {});
  const answer = await web.ask('GET', '/metrics', { person: 'v-1' });
  assert.match(answer.headers['content-type'], /^text\/plain; version=0\.0\.4/);
  const lines = answer.text.trimEnd().split('\n');
  for (const line of lines)
    assert.match(
      line,
      /^(# (HELP|TYPE) forelock_[a-z_]+ .+|forelock_[a-z_]+(\{[a-z]+="[^"]+"(,[a-z]+="[^"]+")*\})? \d+)$/,
    );
  const value = (name) =>
    Number(
      lines
        .find((l) => l.startsWith(`forelock_${name} `))
        ?.split(' ')
        .pop(),
    );
  assert.equal(value('link_up'), 1);
  assert.equal(value('requests_total{verb="open-job",outcome="accepted"}'), 1);
  assert.equal(value('jobs{phase="open"}'), 1);
  assert.equal(value('alarms{kind="lockout-broken"}'), 0);
  assert.ok(value('facts_total') > 5);
  assert.ok(value('http_unauthorized_total') >= 1);
  assert.equal(new Set(lines).size, lines.length, 'a line twice');
});

scenario('downtime', plain, async (w) => {
  const web = new Web(w);
  const job = await new Repair(w).to('returned');
  await w.position('3A', (d) => d.service === 'in-service', 'in service');
  const all = await web.get('/api/juniper/downtime');
  assert.deepEqual(
    all.positions.map((p) => p.position),
    ['3A', '3B', '4A', '5A', '9A'],
  );
  const [a] = all.positions;
  const own = a.intervals.find((i) => i.job === job.job && i.cause === 'job');
  assert.ok(own, JSON.stringify(a));
  const opened = (await w.journal()).find((l) => l.type.endsWith('job.opened'));
  assert.equal(own.from, opened.at);
  assert.equal(own.ongoing, false);
  assert.equal(own.seconds, (Date.parse(own.to) - Date.parse(own.from)) / 1000);
  const sum = (list) => Number(list.reduce((s, x) => s + x, 0).toFixed(3));
  assert.equal(a.out_s, sum(a.intervals.map((i) => i.seconds)));
  assert.equal(all.out_s, sum(all.positions.map((p) => p.out_s)));
  assert.equal(all.out_s, sum(Object.values(all.by_cause)));
  assert.equal(a.intervals[0].cause, 'unknown');
  // A job that stands now goes on at the period's end.
  const next = { job: 'J-2', position: '4A', procedure: 'boot' };
  await w.ok('k-1', 'open-job', next);
  const then = await web.get('/api/juniper/downtime');
  const standing = then.positions[2].intervals.at(-1);
  assert.deepEqual([standing.cause, standing.job, standing.ongoing], ['job', 'J-2', true]);
  assert.equal(standing.to, then.to);
  // A period within the job's own.
  const from = new Date(Date.parse(own.from) + 10).toISOString();
  const to = new Date(Date.parse(own.from) + 60).toISOString();
  const part = await web.get(`/api/juniper/downtime?from=${from}&to=${to}`);
  assert.deepEqual(part.positions[0].intervals, [
    { from, to, ongoing: true, seconds: 0.05, cause: 'job', job: 'J-1' },
  ]);
  const csv = await web.get('/api/juniper/downtime', 'v-1', { headers: { accept: 'text/csv' } });
  const [head, ...rows] = csv.trimEnd().split('\r\n');
  assert.equal(head, 'position,from,to,seconds,ongoing,cause,job');
  assert.ok(rows.includes(`3A,${own.from},${own.to},${own.seconds.toFixed(3)},false,job,J-1`), csv);
  for (const query of ['from=yesterday', 'to=2020-02-30T00:00:00Z', 'from=2030-01-01T00:00:00Z'])
    await web.problem(400, 'GET', `/api/juniper/downtime?${query}`, { person: 'v-1' });
});
