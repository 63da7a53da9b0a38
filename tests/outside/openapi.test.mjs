// The API's document against the program: it is valid, every answer of a repair from opening to return
// is as it says, and nothing is there that it does not know. Schemas take no member that they do not
// name, so that one that is not documented is caught.
import assert from 'node:assert/strict';
import test from 'node:test';
import { Validator } from '@seriousme/openapi-schema-validator';
import Ajv from 'ajv/dist/2020.js';
import formats from 'ajv-formats';
import { api, fill, follow, head, ID, messages, operations } from './harness/api.mjs';
import { Repair } from './harness/repair.mjs';
import { Web, tokenOf, tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const ajv = new Ajv({ strict: false, allErrors: true });
formats(ajv);
ajv.addSchema(messages);
ajv.addSchema(api, ID);
const pointer = (...keys) =>
  keys.map((k) => `/${encodeURIComponent(k.replace(/~/g, '~0').replace(/\//g, '~1'))}`).join('');
const validators = new Map();
function validator(at) {
  if (!validators.has(at)) validators.set(at, ajv.compile({ $ref: `${ID}#${at}` }));
  return validators.get(at);
}
const pathOf = (method, url) => {
  const parts = url.split('?')[0].split('/');
  const fits = ({ method: m, path }) => {
    const own = path.split('/');
    return (
      m === method &&
      own.length === parts.length &&
      own.every((p, i) => p[0] === '{' || p === parts[i])
    );
  };
  return operations.find(fits);
};

// Which statuses and content types of which operation were really seen.
const covered = new Map();

// Holds an answer against what the document says of its operation, status and type.
function hold(method, url, { status, headers, text }) {
  const found = pathOf(method, url);
  assert.ok(found, `${method} ${url} is not documented`);
  const where = `${method} ${found.path} ${status}`;
  const responses = found.operation.responses;
  assert.ok(responses[status], `${where}: that status is not documented\n${text.slice(0, 300)}`);
  covered.set(
    `${method} ${found.path}`,
    (covered.get(`${method} ${found.path}`) ?? new Set()).add(status),
  );
  const response = follow(responses[status]);
  if ([303, 304].includes(status)) return;
  const type = headers['content-type'].split(';')[0];
  assert.ok(response.content?.[type], `${where}: ${type} is not documented`);
  for (const name of Object.keys(response.headers ?? {}))
    if (name !== 'Set-Cookie') assert.ok(name.toLowerCase() in headers, `${where}: no ${name}`);
  if (!/json/.test(type)) return;
  const ref = responses[status].$ref;
  const base = ref
    ? ref.slice(1)
    : pointer('paths', found.path, method.toLowerCase(), 'responses', String(status));
  const check = validator(`${base}${pointer('content', type, 'schema')}`);
  const body = JSON.parse(text);
  assert.ok(
    check(body),
    `${where}: ${JSON.stringify(check.errors, null, 1)}\n${text.slice(0, 2000)}`,
  );
}

test('the document is OpenAPI 3.1', async () => {
  // The validator follows no reference to another file: it gets both in one.
  const inner = (text) => JSON.parse(text.replaceAll('#/$defs/', '#/components/schemas/'));
  const whole = structuredClone(api);
  whole.components.schemas = inner(JSON.stringify(messages.$defs));
  const { valid, errors } = await new Validator().validate(whole);
  assert.ok(valid, JSON.stringify(errors, null, 1));
  assert.match(api.openapi, /^3\.1\./);
  const ids = operations.map((o) => o.operation.operationId);
  assert.equal(new Set(ids).size, ids.length);
});

test('its examples are as its schemas say', () => {
  for (const [name, schema] of Object.entries(messages.$defs))
    for (const example of schema.examples ?? []) {
      const check = validator(pointer('components', 'schemas', name));
      assert.ok(check(example), `${name}: ${JSON.stringify(check.errors, null, 1)}`);
    }
});

test('what it documents cannot have more members than it names', () => {
  const open = [];
  const FREE = ['Request', 'Event'];
  const walk = (node, at) => {
    if (node === null || typeof node !== 'object') return;
    if (node.type === 'object' && node.properties && node.additionalProperties !== false)
      open.push(at);
    for (const [key, value] of Object.entries(node))
      if (key !== 'examples') walk(value, `${at}/${key}`);
  };
  for (const [name, schema] of Object.entries(messages.$defs))
    if (!FREE.includes(name)) walk(schema, name);
  assert.deepEqual(open, []);
});

// Everything that can be looked at, as somebody sees it who may.
async function lookAround(web, values = {}) {
  for (const { method, path } of operations) {
    if (method !== 'GET' || path.endsWith('/stream')) continue;
    if (path.includes('{alarm}') && !values.alarm) continue;
    const url = fill(path, values);
    const answer = await head(web, 'GET', url, { token: tokenOf('m-1') });
    assert.notEqual(answer.status, 404, `${url} is documented and not there`);
    hold('GET', url, answer);
  }
}

// A request by HTTP, and its answer as documented.
async function ask(web, person, verb, body) {
  const url = `/api/juniper/request/${verb}`;
  const headers = { 'content-type': 'application/json' };
  const text = typeof body === 'string' ? body : JSON.stringify(body);
  const answer = await head(web, 'POST', url, { token: tokenOf(person), headers, body: text });
  hold('POST', url, answer);
  return { ...answer, body: JSON.parse(answer.text) };
}

// A crew that works by HTTP: everything it asks is held against the document.
function byHttp(w, web) {
  const repair = new Repair(w, { procedure: 'spout-and-boot' });
  repair.ask = async (verb, body = {}, person = repair.leader) => {
    const answer = await ask(web, person, verb, { job: repair.job, ...body });
    assert.equal(answer.status, 200, answer.text);
    return answer.body;
  };
  return repair;
}

scenario('a repair from opening to return, looked at all the way', { tweak: tokens }, async (w) => {
  const web = new Web(w);
  const stream = await web.stream();
  const job = byHttp(w, web);
  for (const step of ['open', 'isolated', 'confirmed', 'working']) {
    await job.to(step);
    await lookAround(web);
  }
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  const { alarm } = await job.alarm();
  await lookAround(web, { alarm });
  await job.isolate();
  await job.tag();
  await job.signGroup('relieve', 'verify');
  await job.doc((d) => d.lockout === 'confirmed', 'confirmed again');
  await ask(web, 't-104', 'acknowledge-alarm', { alarm });
  await job.start();
  for (const step of ['restoring', 'testing', 'passed', 'returned']) {
    await job.to(step);
    await lookAround(web);
  }
  await stream.wait(
    (s) => s.events.some((e) => e.event === 'document' && e.data.document?.phase === 'returned'),
    'the documents',
  );
  for (const { event, data } of stream.events) {
    const name = { message: 'Event', heard: 'Heard', document: 'Document', alarm: 'Alarm' }[event];
    const check = validator(pointer('components', 'schemas', name));
    assert.ok(check(data), `${event}: ${JSON.stringify(check.errors)} ${JSON.stringify(data)}`);
  }
  await stream.close();
});

scenario('what is refused, and problem documents', { tweak: tokens }, async (w) => {
  const web = new Web(w);
  await new Repair(w).to('open');
  const verbs = api.components.parameters.verb.schema.enum;
  const bodies = [
    { job: 'J-1' },
    { job: 'J-9' },
    '{',
    {},
    { job: 'J-1', position: '3A', procedure: 'boot' },
  ];
  for (const verb of [...verbs, 'no-such-verb'])
    for (const body of bodies)
      for (const person of ['t-104', 'v-1', 't-108']) await ask(web, person, verb, body);
  const again = { id: 'r-1', job: 'J-1', point: '4-product', state: 'live' };
  await ask(web, 'm-1', 'witness-point', again);
  assert.equal((await ask(web, 'm-1', 'witness-point', again)).body.again, true);
  await ask(web, 'm-1', 'cancel-job', JSON.stringify({ job: 'J-1', reason: 'y'.repeat(70000) }));
  const looks = [
    '/api/juniper/events?limit=0',
    '/api/juniper/downtime?from=x',
    '/api/juniper/timeline?to=x',
    '/api/juniper/timeline?format=xml',
    '/api/juniper/timeline?format=csv',
    '/api/juniper/downtime?format=csv',
    '/api/juniper/stream?after=x',
    '/api/juniper/position/8Z',
    '/api/juniper/job/J-9/procedure',
    '/api/elsewhere',
    '/board/elsewhere',
    '/static/nothing.css',
    '/enroll?token=x',
    `/enroll?token=${tokenOf('t-104')}`,
  ];
  for (const url of looks) hold('GET', url, await head(web, 'GET', url, { token: tokenOf('m-1') }));
  const stranger = ['/api/juniper', '/at/juniper/3A', '/metrics'];
  for (const url of stranger)
    hold('GET', url, await head(web, 'GET', url, { token: tokenOf('t-108') }));
  for (const { method, path } of operations)
    hold(
      method,
      fill(path),
      await head(web, method, fill(path), { body: method === 'POST' ? '' : undefined }),
    );
  const flood = Array.from({ length: 350 }, () => web.post('v-1', 'join-job', { job: 'J-9' }));
  const limited = (await Promise.all(flood)).find((a) => a.status === 429);
  hold('POST', '/api/juniper/request/join-job', limited);
  for (const accept of ['application/json', 'text/html'])
    for (const body of ['token=', 'token=nobody', `token=${tokenOf('t-104')}`, 'x']) {
      const headers = { accept, 'content-type': 'application/x-www-form-urlencoded' };
      hold('POST', '/enroll', await head(web, 'POST', '/enroll', { headers, body }));
    }
});

scenario('without the broker', { tweak: tokens }, async (w) => {
  const web = new Web(w);
  await w.broker.stop();
  let health;
  do health = await head(web, 'GET', '/health');
  while (health.status === 200);
  hold('GET', '/health', health);
  for (const url of [
    '/api',
    '/api/juniper',
    '/api/juniper/equipment',
    '/api/juniper/point/3-power',
  ])
    hold('GET', url, await head(web, 'GET', url, { token: tokenOf('m-1') }));
  await w.broker.start();
  await w.seen.wait(() => w.seen.client.connected && w.seen.subscribed, 'the observer');
});

test('every operation was seen to answer, and to refuse', () => {
  const unseen = operations
    .map(({ method, path }) => `${method} ${path}`)
    .filter(
      (name) => !name.endsWith('/stream') && ![...(covered.get(name) ?? [])].some((s) => s < 400),
    );
  assert.deepEqual(unseen, []);
});
