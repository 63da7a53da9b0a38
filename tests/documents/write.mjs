// Writes what the documents say of requests, events, refusals and alarms, from the rows and sentences as the
// programs verbs_json, facts_json, sentences_json and alarms_json print them: the schema of requests, the
// types of events, the verbs and messages of the OpenAPI and AsyncAPI documents, and the tables of
// docs/topics.md, docs/refusals.md and docs/alarms.md. With --check it writes nothing and exits 1 where a document differs.
import { execFileSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const ROOT = join(dirname(fileURLToPath(import.meta.url)), '../..');
const BIN = process.env.FORELOCK_BIN ?? join(ROOT, 'build/bin');
const ROWS = JSON.parse(execFileSync(join(BIN, 'verbs_json')));
const FACTS = JSON.parse(execFileSync(join(BIN, 'facts_json')));
const SAYS = JSON.parse(execFileSync(join(BIN, 'sentences_json')));
const ALARMS = JSON.parse(execFileSync(join(BIN, 'alarms_json')));
const ID = '^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$';
const TEST_ID = `${ID.slice(0, -1)}([.]${ID.slice(1, -1)})?$`;

// The schema of a field's value, by its kind.
const KINDS = {
  id: { $ref: 'words.schema.json#/$defs/id' },
  'test-id': { type: 'string', pattern: TEST_ID },
  name: { type: 'string', minLength: 1, maxLength: 64, pattern: '\\S' },
  unit: { type: 'string', minLength: 1, maxLength: 31, pattern: '\\S' },
  note: { type: 'string', maxLength: 500 },
  reason: { type: 'string', minLength: 1, maxLength: 500, pattern: '\\S' },
  flag: { type: 'boolean' },
  number: { type: 'number' },
  volume: { type: 'number', minimum: 0, maximum: 1e9 },
  change: { type: 'number', minimum: -1e9, maximum: 1e9 },
  measure: { enum: ['gal', 'L'], type: 'string' },
  time: { type: 'string', format: 'date-time' },
  day: { type: 'string', format: 'date' },
  link: { type: 'string', maxLength: 2000, pattern: '^https?://\\S+$' },
  sha256: { type: 'string', pattern: '^[0-9A-Fa-f]{64}$' },
  hours: { type: 'number', exclusiveMinimum: 0, maximum: 12 },
  state: { enum: ['isolated', 'live'], type: 'string' },
  pass: { type: 'boolean' },
  attest: {
    description: '29 CFR 1910.147(e)(3)',
    type: 'object',
    properties: Object.fromEntries(
      ['not_on_site', 'contact_tried', 'will_be_told', 'seen_off'].map((n) => [n, { type: ['boolean', 'null'] }]),
    ),
    additionalProperties: { type: 'null' },
  },
  readings: {
    description: "By the names of the test's rule.",
    type: 'object',
    propertyNames: { type: 'string', minLength: 1, maxLength: 31 },
    additionalProperties: { type: ['number', 'boolean', 'string', 'null'], maxLength: 31 },
  },
  object: { description: 'Of the asker; at most 8 KiB.', type: 'object' },
};

// What the body of every request may carry.
const EVERY = {
  id: {
    description: 'Asked again under it, with the same verb and body, an accepted request is answered again and done once.',
    type: ['string', 'null'],
    minLength: 1,
    maxLength: 64,
  },
  asked: {
    description: "When it was asked, by the daemon's clock: over 30 s old or 5 s ahead, what speaks of the present is `too-late`.",
    type: ['string', 'null'],
    format: 'date-time',
  },
};

// null is absent: what is not required may be null.
function orNull(schema) {
  if (schema.$ref) return { anyOf: [schema, { type: 'null' }] };
  const { enum: values, type, ...rest } = schema;
  return { ...(values && { enum: [...values, null] }), type: [type, 'null'], ...rest };
}

const only = (given, absent) => ({
  required: [given],
  properties: { [given]: { type: 'string' }, [absent]: { type: 'null' } },
  type: 'object',
});

// What a body may say beside its fields: nothing; what ends or stops, anything.
function beside({ stops, ends, fields }) {
  const none = { additionalProperties: { type: 'null' } };
  if (stops) return ['What else it says, or says in another way, is left out: a stop is never refused for its form.', {}];
  if (!ends) return ['It has no other fields.', none];
  if (!fields.some(({ kind }) => kind === 'state'))
    return ['It has no other fields; where it ends something, they are left out.', none];
  const known = Object.fromEntries([...Object.keys(EVERY), ...fields.map(({ name }) => name)].map((n) => [n, true]));
  return [
    'It has no other fields; of a word of live they are left out.',
    { if: { properties: { state: { const: 'live' } } }, else: { properties: known, ...none } },
  ];
}

// When a request may be asked.
function time({ present, ends, however_late: late }) {
  if (!present) return 'It is taken however late.';
  if (late) return 'Without `raised` it speaks of the present; over MQTT it then needs `asked`.';
  if (ends) return 'Where it ends nothing it speaks of the present; over MQTT it then needs `asked`.';
  return 'It speaks of the present; over MQTT it needs `asked`.';
}

function body(row) {
  const { verb, about, fields } = row;
  const [a, b] = row.one_of;
  const [others, rule] = beside(row);
  const valueOf = ({ kind, required }) => (required ? KINDS[kind] : orNull(KINDS[kind]));
  return {
    description: `The body of ${verb}. ${about} ${time(row)} ${others}`,
    type: 'object',
    properties: {
      ...EVERY,
      ...Object.fromEntries(fields.map((field) => [field.name, valueOf(field)])),
    },
    required: fields.filter((field) => field.required).map((field) => field.name),
    ...rule,
    ...(a && { oneOf: [only(a, b), only(b, a)] }),
  };
}

const requestSchema = () => ({
  $schema: 'https://json-schema.org/draft/2020-12/schema',
  $id: 'https://forelock.example/schema/request.schema.json',
  title: 'Requests',
  description:
    'The bodies of requests, one definition a verb. The verb is the last level of the topic or the path; `id`, of 1 to 64 characters, makes a request that is asked again be done once; `asked` says when it was asked, without which one that speaks of the present is not taken over MQTT.',
  type: 'object',
  $defs: Object.fromEntries(ROWS.map((row) => [row.verb, body(row)])),
});

// The fields of all verbs in one, for the OpenAPI document: its one path takes every verb.
function anyBody(old) {
  const local = (schema) =>
    JSON.parse(JSON.stringify(schema).replaceAll('words.schema.json#/$defs/id', '#/$defs/Id'));
  const kinds = new Map(Object.entries(EVERY));
  for (const { fields } of ROWS)
    for (const { name, kind } of fields) kinds.set(name, local(orNull(KINDS[kind])));
  return {
    ...old,
    description:
      'The fields of all verbs; which of them a verb takes is in request.schema.json. Another is `malformed`, but for what ends or stops, of which it is left out.',
    properties: Object.fromEntries(kinds),
  };
}

const messageName = (verb) => `request-${verb}`.replace(/-(.)/g, (_, c) => c.toUpperCase());

// What is published: clients and brokers keep messages, so what speaks of the present says when it was asked.
function payload({ verb, present, ends, however_late: late }) {
  const schema = { $ref: `./schema/request.schema.json#/$defs/${verb}` };
  const says = (name) => ({ type: 'object', properties: { [name]: { type: 'string' } }, required: [name] });
  const [dated, named] = [says('asked'), says('raised')];
  if (!present || ends) return schema;
  return { allOf: [schema, late ? { anyOf: [dated, named] } : dated] };
}

function asyncapi(api) {
  const { messages, parameters } = api.components;
  const requests = ROWS.map((row) => [
    messageName(row.verb),
    {
      name: messageName(row.verb),
      title: row.verb,
      summary: row.about,
      contentType: 'application/json',
      payload: payload(row),
    },
  ]);
  const isRequest = ([name]) => /^request[A-Z]/.test(name);
  const all = Object.entries(messages);
  const first = all.findIndex(isRequest);
  const others = all.filter((entry) => !isRequest(entry));
  others.splice(first, 0, ...requests);
  api.components.messages = Object.fromEntries(others);
  const to = (at) => requests.map(([name]) => ({ $ref: `${at}/${name}` }));
  api.channels.request.messages = Object.fromEntries(
    requests.map(([name], i) => [name, to('#/components/messages')[i]]),
  );
  api.operations.takeRequest.messages = to('#/channels/request/messages');
  parameters.verb.enum = ROWS.map((row) => row.verb);
  return api;
}

function openapi(api) {
  api.components.parameters.verb.schema.enum = ROWS.map((row) => row.verb);
  return api;
}

// Who may ask, in words.
function askers({ who, roles, asker }) {
  const own = { crew: ['one of the crew'], leader: ['who leads the job'] }[who] ?? [];
  const names = [...own, ...roles.map((role) => `a ${role}`)];
  return asker ?? names.join(', ').replace(/, ([^,]*)$/, ' or $1');
}

function fieldsOf({ fields, one_of: [a, b] }) {
  const texts = fields
    .filter(({ name }) => name !== b)
    .map(({ name, required }) => (name === a ? `${a} or ${b}` : name + (required ? '' : '?')));
  return texts.join(', ');
}

function topics(text) {
  const lines = ROWS.map((row) => {
    const { verb, phases, of_job: job, about } = row;
    const when = phases.join(', ') || (job ? 'the job stands' : '');
    return `| ${row.present ? '● ' : ''}\`${verb}\` | ${fieldsOf(row)} | ${askers(row)} | ${when} | ${about} |`;
  });
  const table = ['| verb | fields | who | phase | what |', '| --- | --- | --- | --- | --- |', ...lines];
  return between(text, 'verbs', table);
}

// What sentences are made of; `say` is one of the names, and more may come.
const argsSchema = ({ sentences }, where) => ({
  description: `The name of the sentence and what it is made of: ${where}.`,
  type: 'object',
  additionalProperties: false,
  required: ['say'],
  properties: {
    say: { enum: [...new Set(sentences.map(({ sentence }) => sentence))] },
    ...Object.fromEntries(SAYS.texts.map((name) => [name, { type: 'string', minLength: 1 }])),
    field: { type: 'string', minLength: 1 },
    value: { type: 'number' },
    min: { type: 'number' },
    max: { type: 'number' },
    said: { type: 'integer', minimum: 0 },
    of: { type: 'integer', minimum: 1 },
    run: { type: 'integer', minimum: 1 },
    runs: { type: 'integer', minimum: 1 },
    line: { type: 'integer', minimum: 1 },
    column: { type: 'integer', minimum: 1 },
    phases: { type: 'array', minItems: 1, items: { $ref: '#/$defs/Phase' } },
    any: { type: 'array', minItems: 1, items: { type: 'string' } },
  },
});

function withArgs(schema) {
  schema.properties.args = { $ref: '#/$defs/Args' };
  return schema;
}

// What stands between two marks of a document, written anew.
function between(text, mark, lines) {
  const marked = new RegExp(`(<!-- ${mark} -->\n)[\\s\\S]*?(<!-- /${mark} -->)`);
  if (!marked.test(text)) throw new Error(`no place for the ${mark}`);
  return text.replace(marked, (_, open, close) => `${open}${lines.join('\n')}\n${close}`);
}

function refusals(text) {
  const plain = (words) => words.replace(/\{(\w+)\|[^}]*\}/g, '{$1}').replaceAll('|', '\\|');
  const lines = SAYS.sentences.map(
    ({ sentence, code, say }) => `| \`${sentence}\` | \`${code}\` | ${plain(say)} |`,
  );
  return between(text, 'sentences', ['| `say` | code | sentence |', '| --- | --- | --- |', ...lines]);
}

// The document of an alarm: what its rows say.
function alarmSchema(schema) {
  const properties = {
    ...schema.properties,
    kind: { type: 'string', enum: [...new Set(ALARMS.alarms.map(({ kind }) => kind))] },
    priority: { type: 'string', enum: [...new Set(ALARMS.alarms.map((a) => a.priority))] },
  };
  return { ...schema, required: Object.keys(properties), properties };
}

function alarms(text) {
  const rows = ALARMS.alarms.map(
    (a) =>
      `| \`${a.kind}\` | ${a.priority} | ${a.why ? `\`${a.why}\`` : ''} | ${a.subject ?? ''} | ${a.stands} | ${a.acknowledged_by}${a.note ? '; with a `note`' : ''} |`,
  );
  const lines = ALARMS.sentences.map(
    ({ sentence, say }) => `| \`${sentence}\` | ${say.replace(/\{(\w+)\|[^}]*\}/g, '{$1}')} |`,
  );
  const kinds = [
    '| alarm | priority | `why` | `subject` | stands | acknowledged by |',
    '| --- | --- | --- | --- | --- | --- |',
    ...rows,
  ];
  return between(
    between(text, 'alarms', kinds),
    'sentences',
    ['| `say` | sentence |', '| --- | --- |', ...lines],
  );
}

const json = (change) => (text) => `${JSON.stringify(change(JSON.parse(text)), null, 2)}\n`;
const DOCUMENTS = {
  'docs/schema/request.schema.json': json(requestSchema),
  'docs/schema/message.schema.json': json((messages) => {
    messages.$defs.Request = anyBody(messages.$defs.Request);
    const published = FACTS.filter((row) => row.published);
    messages.$defs.Event.properties.type.enum = published.map((row) => `forelock.${row.fact}`);
    messages.$defs.Args = argsSchema(SAYS, 'docs/refusals.md');
    messages.$defs.AlarmArgs = argsSchema(ALARMS, 'docs/alarms.md');
    messages.$defs.Alarm = alarmSchema(messages.$defs.Alarm);
    messages.$defs.Code.enum = [...new Set(SAYS.sentences.map(({ code }) => code))];
    for (const name of ['Refusal', 'Requirement']) withArgs(messages.$defs[name]);
    messages.$defs.Verb.enum = ROWS.map((row) => row.verb);
    return messages;
  }),
  'docs/openapi.json': json(openapi),
  'docs/asyncapi.json': json(asyncapi),
  'docs/refusals.md': refusals,
  'docs/alarms.md': alarms,
  'docs/topics.md': topics,
};

let differ = 0;
for (const [name, change] of Object.entries(DOCUMENTS)) {
  const path = join(ROOT, name);
  const old = readFileSync(path, 'utf8');
  const text = change(old);
  if (text === old) continue;
  if (process.argv[2] !== '--check') writeFileSync(path, text);
  else {
    differ += 1;
    console.error(`documents: ${name} is not what the rows say: run tests/documents/write`);
  }
}
process.exit(differ ? 1 : 0);
