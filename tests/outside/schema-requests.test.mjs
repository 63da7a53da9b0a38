// The schema of requests against the daemon that takes them: a body is `malformed` to the one exactly when it is
// to the other, and both know the same verbs and fields.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { schemas, TOP, wrongBy } from './harness/schemas.mjs';
import { scenario } from './harness/world.mjs';

const VERBS = Object.keys(schemas.request.$defs);

// A body of a verb in which every field stands, by the kinds of its schema.
const SAMPLES = {
  id: 'x-1',
  state: 'live',
  value: 1.5,
  unit: 'V',
  readings: { pass: true, value: 2, system: 'balance' },
  attest: { not_on_site: true, contact_tried: true, will_be_told: true },
};
const bodyOf = (verb) =>
  Object.fromEntries(
    Object.keys(schemas.request.$defs[verb].properties)
      .filter((name) => verb !== 'lift-absent-tag' || name !== 'badge')
      .map((name) => [name, SAMPLES[name] ?? `some-${name.replace('_', '-')}`]),
  );

const WRONG = [null, {}, [], '', ' ', 'x'.repeat(501), 'x'.repeat(65), 'ä/ö', 7, true, [{ a: 1 }]];

function* variants(verb) {
  const whole = bodyOf(verb);
  yield whole;
  for (const name of Object.keys(whole)) {
    if (name === 'id') continue; // asked anew each time
    const less = { ...whole };
    delete less[name];
    yield less;
    for (const value of WRONG) yield { ...whole, [name]: value };
  }
  for (const readings of [{ a: null }, { a: [1] }, { a: {} }, { a: 'x'.repeat(40) }, { '': 1 }])
    if ('readings' in whole) yield { ...whole, readings };
  for (const attest of [{ not_on_site: null }, { not_on_site: 1 }, { unheard_of: 7 }])
    if ('attest' in whole) yield { ...whole, attest };
  yield { ...whole, unheard_of: 1 };
  if (verb === 'lift-absent-tag') yield { ...whole, badge: '0451' };
}

let number = 0;

async function isMalformed(w, verb, body) {
  const asked = 'id' in body ? { ...body, id: `r-${(number += 1)}` } : body;
  const answer = await w.seen.request('s-2', verb, asked);
  return answer.accepted ? false : answer.refusals.some((r) => r.code === 'malformed');
}

scenario('a body is malformed to the daemon exactly when it is to the schema', {}, async (w) => {
  for (const verb of VERBS)
    for (const body of variants(verb)) {
      const wrong = wrongBy(`request#${verb}`, body);
      assert.equal(
        await isMalformed(w, verb, body),
        wrong.length > 0,
        `${verb} ${JSON.stringify(body).slice(0, 300)}: the schema says ${JSON.stringify(wrong)}`,
      );
    }
});

scenario('an id of a request has 1 to 64 characters', {}, async (w) => {
  for (const id of ['a', 'ä'.repeat(64), null, '', 'x'.repeat(65), 7, {}]) {
    const body = { id, job: 'J-9' };
    const answer = await w.seen.request('t-104', 'join-job', body);
    assert.equal(
      answer.refusals.some((r) => r.code === 'malformed'),
      wrongBy('request#join-job', body).length > 0,
      JSON.stringify(id),
    );
  }
});

scenario('the verbs of the schema are those that the daemon has', { daemon: false }, async () => {
  const words = readFileSync(join(TOP, 'daemon/gate/words.c'), 'utf8');
  const table = words.slice(words.indexOf('verb_names[')).split(';')[0];
  const theirs = [...table.matchAll(/"([a-z-]+)"/g)].map((m) => m[1]);
  assert.ok(theirs.length > 15, 'the names of verbs are found');
  assert.deepEqual([...VERBS].sort(), theirs.sort());
});

scenario('the fields of the schema are those of the table', { daemon: false }, async () => {
  const source = readFileSync(join(TOP, 'daemon/wire/request.c'), 'utf8');
  for (const verb of VERBS) {
    const name = `[GATE_VERB_${verb.toUpperCase().replaceAll('-', '_')}] = {`;
    assert.ok(source.includes(name), name);
    const row = source.slice(source.indexOf(name)).split('},')[0];
    const fields = [...row.matchAll(/(?:MUST|MAY|PLAIN)\((\w+)|\b(PERSON)\b/g)].map(
      ([, field]) => field ?? 'person',
    );
    const { properties } = schemas.request.$defs[verb];
    assert.deepEqual(Object.keys(properties).sort(), ['id', ...fields].sort(), verb);
  }
});
