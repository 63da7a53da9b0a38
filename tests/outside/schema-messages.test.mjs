// AsyncAPI and the schemas of messages against what goes over the broker: the document is valid, every message of
// a repair from opening to return is on a channel and as its schema says, every channel and kind of event is
// used, and the closed lists are those of the program.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import test from 'node:test';
import { Parser } from '@asyncapi/parser';
import { CloudEvent } from 'cloudevents';
import { Repair } from './harness/repair.mjs';
import { schemas, TOP, wrongBy, wrongIn } from './harness/schemas.mjs';
import { FACTS_JSON, scenario } from './harness/world.mjs';

const FILE = join(TOP, 'docs/asyncapi.json');
const api = JSON.parse(readFileSync(FILE, 'utf8'));

// The channel of a topic below the root: [name, channel, parameters].
function channelOf(below) {
  const levels = `forelock/${below}`.split('/');
  for (const [name, channel] of Object.entries(api.channels)) {
    const own = channel.address.split('/');
    if (own.length !== levels.length) continue;
    const values = {};
    const fits = own.every((part, i) => {
      if (part[0] === '{') values[part.slice(1, -1)] = levels[i];
      return part[0] === '{' || part === levels[i];
    });
    if (fits) return [name, channel, values];
  }
  return null;
}

// What is wrong with a message by its channel.
function wrongOn([name, channel, values], entry) {
  let names = Object.keys(channel.messages);
  if (name === 'request')
    names = names.filter(
      (n) => api.components.messages[n].name === n && titleOf(n) === values.verb,
    );
  assert.equal(names.length, 1, `${name} ${values.verb ?? ''}`);
  const { payload, contentType } = api.components.messages[names[0]];
  if (payload.type === 'string') return [];
  const [{ $ref }, ...more] = payload.allOf ?? [payload];
  const [file, part] = $ref.replace('./schema/', '').split('#/$defs/');
  const schema = file.replace('.schema.json', '') + (part ? `#${part}` : '');
  if (contentType === 'application/cloudevents+json')
    assert.equal(entry.packet.properties?.contentType, contentType);
  return [wrongBy(schema, entry.body), ...more.map((m) => wrongIn(m, entry.body))].flat();
}
const titleOf = (message) => api.components.messages[message].title;

test('the document is AsyncAPI 3', async () => {
  const parser = new Parser();
  const { document, diagnostics } = await parser.parse(readFileSync(FILE, 'utf8'), {
    source: FILE,
  });
  const errors = diagnostics.filter((d) => d.severity === 0);
  assert.deepEqual(
    errors.map((d) => `${d.path.join('/')}: ${d.message}`),
    [],
  );
  assert.ok(document);
  assert.match(api.asyncapi, /^3\./);
});

test('its closed lists are the words of the program', () => {
  const words = readFileSync(join(TOP, 'daemon/model/words.c'), 'utf8');
  const table = (name) => {
    const text = words.slice(words.indexOf(`${name}[`)).split('};')[0];
    return [...text.matchAll(/"([a-z.-]+)"/g)].map((m) => m[1]);
  };
  const defs = schemas.message.$defs;
  const list = (schema) => [...schema.enum].filter((v) => v !== null).sort();
  assert.deepEqual(list(defs.Phase), table('phase_names').sort());
  assert.deepEqual(list(defs.Lockout), table('lockout_names').sort());
  assert.deepEqual(list(defs.Code), table('code_names').sort());
  assert.deepEqual(list(defs.Alarm.properties.kind), table('alarm_kind_names').sort());
  assert.deepEqual(list(defs.Position.properties.cause), table('cause_names').sort());
  assert.deepEqual(list(defs.Point.properties.state), table('point_state_names').sort());
  assert.deepEqual(list(defs.Point.properties.trust), table('trust_names').sort());
  const events = JSON.parse(execFileSync(FACTS_JSON))
    .filter((row) => row.published)
    .map((row) => `forelock.${row.fact}`);
  assert.deepEqual(list(defs.Event.properties.type), events.sort());
});

scenario('every message of a repair is on a channel, and as its schema says', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('working');
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  await job.alarm();
  await job.proveAgain();
  await job.acknowledge();
  await job.ask('start-work');
  job.at = 'working';
  await w.no('t-105', 'start-work', { job: job.job }, 'not-assigned');
  await job.to('returned');
  await w.position('3A', (d) => d.service === 'in-service');
  await w.seen.publish('juniper/tagging/3-power', { state: 'hung', person: '0451' });
  await w.seen.wait(
    () => w.seen.docs.get('juniper/point/3-power')?.tags.some((t) => t.badge === '0451'),
    "a stranger's lock",
  );

  const used = new Set();
  for (const entry of w.seen.log) {
    const found = channelOf(entry.below);
    assert.ok(found, `${entry.below} is on no channel`);
    used.add(found[0]);
    if (entry.raw.length === 0) continue;
    assert.deepEqual(wrongOn(found, entry), [], `${entry.below} ${entry.raw}`);
    if (found[0] === 'event') assert.doesNotThrow(() => new CloudEvent(entry.body, true));
  }
  const all = Object.keys(api.channels).filter((name) => name !== 'measure');
  assert.deepEqual([...used].sort(), all.sort());
});

scenario('a retained flag is where the document says so', {}, async (w) => {
  await new Repair(w).to('open');
  const kept = new Map(
    Object.values(api.operations)
      .filter((o) => o.action === 'send')
      .map((o) => [o.channel.$ref.split('/').at(-1), o.bindings.mqtt.retain]),
  );
  for (const entry of w.seen.log) {
    const [name] = channelOf(entry.below);
    if (kept.has(name)) assert.equal(entry.packet.retain, kept.get(name), entry.below);
  }
});
