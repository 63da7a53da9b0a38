// The exact shape of everything that the daemon publishes, from the contract's tables. Every message of
// every scenario is held against it; each function returns what is wrong in words, or nothing.
import { pageSentences } from './said.mjs';

export const CODES = (
  'malformed not-allowed unknown-site unknown-position unknown-procedure unknown-person unknown-job unknown-point ' +
  'unknown-check unknown-test unknown-alarm unknown-verb unknown-instrument energy-unmapped position-has-job ' +
  'job-exists id-reused wrong-phase not-assigned not-in-crew credential-missing credential-expired part-mismatch ' +
  'check-missing check-failed check-void check-out-of-season instrument-missing instrument-overdue point-live ' +
  'point-unknown point-stale point-settling point-disagrees controller-offline link-down journal-down ' +
  'site-contested tag-missing tag-not-yours tag-hung shared-testing shared-locked alarm-open point-not-restored ' +
  'test-missing test-failed attestation-missing too-late not-told clock-wrong alarm-changed note-missing ' +
  'tag-by-reader unknown-sensor reading-not-valid too-many fuel-unaccounted'
).split(' ');

export const ALONE = [
  'unknown-verb',
  'malformed',
  'unknown-site',
  'unknown-person',
  'id-reused',
  'too-late',
  'not-told',
  'unknown-job',
];

export const EVENTS = (
  'job.opened job.assigned job.cancelled job.returned lead.offered job.handed-over crew.joined crew.left ' +
  'crew.protected crew.unprotected tag.hung tag.lifted check.signed point.witnessed point.changed point.ageing ' +
  'sensor.distrusted sensor.trusted ' +
  'told.confirmed stop.called checked-in check.ageing ' +
  'lockout.confirmed lockout.lost lockout.broken work.started work.refused work.stopped work.finished ' +
  'work.set-aside work.reopened test.begun test.refused test.recorded return.refused position.out-of-service ' +
  'position.returned fuel.recorded part.fitted spill.recorded spill.reported fault.reported job.expected evidence.attached alarm.raised alarm.acknowledged alarm.cleared'
).split(' ');

const ALARMS = (
  'lockout-broken stop-called absent-lock-removed check-in-overdue left-live link-down journal-down ' +
  'site-contested tag-left clock webhook-down spill-report-due'
).split(' ');
const PHASES = 'open working stopped restoring testing returned cancelled'.split(' ');
const LOCKOUTS = 'unconfirmed confirmed broken unproven'.split(' ');
const TRUST = {
  live: ['fresh', 'witnessed', 'disagrees', 'kept'],
  isolated: ['fresh', 'settling', 'witnessed'],
  unknown: ['controller-offline', 'bad-quality', 'silent', 'stale', 'settling'],
};
const GROUPS = 'prepare relieve verify work clear finish leave'.split(' ');

const TIME = /^\d{4}-\d\d-\d\dT\d\d:\d\d:\d\d\.\d{3}Z$/;
const ID = /^[A-Za-z0-9][A-Za-z0-9._-]{0,63}$/;

export const isTime = (v) => typeof v === 'string' && TIME.test(v) && !Number.isNaN(Date.parse(v));
const isText = (v) => typeof v === 'string' && v.length > 0;
const isId = (v) => typeof v === 'string' && ID.test(v);
const isBool = (v) => typeof v === 'boolean';
const oneOf = (list) => (v) => list.includes(v);
const orNull = (f) => (v) => v === null || f(v);
const any = () => true;
const listOf = (fields) => (v, where, wrong) => {
  if (!Array.isArray(v)) return false;
  v.forEach((item, i) => object(item, fields, `${where}/${i}`, wrong));
  return true;
};

// Holds an object against {name: test}; a name that ends in `?` may be missing. Extra names are wrong.
function object(value, fields, where, wrong) {
  if (value === null || typeof value !== 'object' || Array.isArray(value)) {
    wrong.push(`${where || '/'}: not an object: ${JSON.stringify(value)}`);
    return false;
  }
  const known = new Set();
  for (const [key, check] of Object.entries(fields)) {
    const name = key.replace(/\?$/, '');
    known.add(name);
    if (!(name in value)) {
      if (name === key) wrong.push(`${where}/${name}: missing`);
      continue;
    }
    if (!check(value[name], `${where}/${name}`, wrong))
      wrong.push(`${where}/${name}: unexpected ${JSON.stringify(value[name])}`);
  }
  for (const name of Object.keys(value))
    if (!known.has(name)) wrong.push(`${where}/${name}: not in the contract`);
  return true;
}

// What a refusal is made of: the pages have a whole sentence of it in both languages.
function isArgs(args, where, wrong) {
  if (args === null || typeof args !== 'object' || !isText(args.say)) return false;
  for (const [language, text] of pageSentences(args))
    if (text === null || text.includes('{')) wrong.push(`${where}: the pages say ${language}: ${text}`);
  return true;
}
const REFUSAL = {
  code: oneOf(CODES),
  subject: orNull((v) => typeof v === 'string'),
  need: any,
  found: any,
  age_s: orNull((v) => typeof v === 'number' && v >= 0),
  say: isText,
  args: isArgs,
};
const CHECK = {
  check: isId,
  group: oneOf(GROUPS),
  by: orNull(isId),
  at: orNull(isTime),
  value: orNull(Number.isFinite),
  unit: orNull(isText),
  'reading?': Number.isFinite, // of a value that is computed from it
  'reading_unit?': isText,
  instrument: orNull(isId),
  pass: orNull(isBool),
  void: orNull((v) => isBool(v) || isText(v)),
  'until?': orNull(isTime),
};
const TEST = {
  test: isText,
  by: orNull(isId),
  at: orNull(isTime),
  value: orNull((v) => Number.isFinite(v) || isBool(v)),
  pass: orNull(isBool),
  void: orNull((v) => isBool(v) || isText(v)),
  'until?': orNull(isTime),
  // Of a test whose borderline runs are averaged: value is their mean so far.
  'runs?': (v) => v.run >= 1 && v.run <= v.of && Number.isFinite(v.reading),
};
const TAG = {
  person: orNull(isId),
  'badge?': orNull(isText),
  job: orNull(isId),
  since: isTime,
  counts: isBool,
};
const EVIDENCE = {
  point: isId,
  state: oneOf(Object.keys(TRUST)),
  trust: oneOf(Object.values(TRUST).flat()),
  heard: orNull(isTime),
  'distrusted?': oneOf([true]),
};

const PART = {
  part: isText,
  family: orNull(isText),
  serial: orNull(isText),
  fitted: isTime,
  job: orNull(isId),
  due: orNull((v) => /^\d{4}-\d\d-\d\d$/.test(v)),
};
const POSITION = {
  position: isId,
  service: oneOf(['in-service', 'out-of-service']),
  cause: orNull(oneOf(['job', 'isolated-with', 'work-beside', 'isolated', 'untested', 'unknown'])),
  job: orNull(isId),
  with: orNull(isId),
  phase: orNull(oneOf(PHASES)),
  lockout: orNull(oneOf(LOCKOUTS)),
  since: isTime,
  'hangs?': listOf(PART),
  'repeats?': listOf({ part: isText, times: (v) => v >= 3, days: (v) => v === 90 }),
};
const JOB = {
  job: isId,
  position: isId,
  procedure: isId,
  phase: oneOf(PHASES),
  lockout: oneOf(LOCKOUTS),
  technician: orNull(isId),
  crew: listOf({ person: isId, protected: isBool, helper: isBool }),
  offered: orNull(isId),
  opened: isTime,
  since: isTime,
  rework: any,
  expected: (v) => v === null || (isTime(v.at) && isId(v.by) && Number.isInteger(v.moved)),
  'fitted?': listOf(PART),
  'fuel?': (v) => v.every((x) => Number.isFinite(x.unaccounted) && isBool(x.accounted)),
  'shift_note?': (v) => isText(v.note) && isId(v.by) && isId(v.to),
  'attachments?': (v) => v.length >= 1 && v.length <= 16 && v.every((x) => /^https?:/.test(x.url)),
  checks: listOf(CHECK),
  tests: listOf(TEST),
  missing: listOf(REFUSAL),
  'distrusted?': Array.isArray,
};
const DISTRUST = { 'sensor?': isId, 'reader?': isId, by: isId, until: isTime, reason: isText };
const POINT = {
  point: isId,
  energy: isId,
  state: oneOf(Object.keys(TRUST)),
  trust: oneOf(Object.values(TRUST).flat()),
  tags: listOf(TAG),
  distrusted: listOf(DISTRUST),
  heard: orNull(isTime),
  since: isTime,
};
const ALARM = {
  alarm: isText,
  kind: oneOf(ALARMS),
  job: orNull(isId),
  position: orNull(isId),
  point: orNull(isId),
  subject: orNull(isText),
  by: orNull(isId),
  why: orNull(isText),
  say: isText,
  args: orNull((v) => isText(v?.say)),
  state: oneOf(['unacknowledged', 'acknowledged', 'returned-unacknowledged']),
  raised: isTime,
  count: (v) => Number.isInteger(v) && v >= 1,
  priority: oneOf(['urgent', 'high', 'low']),
  group: isText,
};
const ONLINE = {
  state: oneOf(['online']),
  version: isText,
  boot: isText,
  since: isTime,
  at: isTime,
  sites: Array.isArray,
};
const ANSWER = {
  id: orNull(isText),
  verb: orNull((v) => typeof v === 'string'),
  accepted: isBool,
  job: orNull((v) => typeof v === 'string'),
  phase: orNull(oneOf(PHASES)),
  lockout: orNull(oneOf(LOCKOUTS)),
  at: isTime,
  'result?': any,
  'again?': oneOf([true]),
  refusals: listOf(REFUSAL),
};

function positionSense(d, wrong) {
  if ((d.service === 'in-service') !== (d.cause === null))
    wrong.push(`service ${d.service} with cause ${d.cause}`);
  if (['isolated-with', 'work-beside'].includes(d.cause) !== (d.with !== null))
    wrong.push(`cause ${d.cause} with ${d.with}`);
  if (d.cause === 'job' && d.job === null) wrong.push('cause job without a job');
}

function pointSense(d, wrong) {
  if (!TRUST[d.state]?.includes(d.trust)) wrong.push(`${d.state} cannot be ${d.trust}`);
}

// What is wrong with a retained document, given the topic's levels below the root.
export function wrongDocument(levels, document) {
  const wrong = [];
  const [first, kind, id] = levels;
  if (first === 'daemon') {
    if (document.state === 'online') object(document, ONLINE, '', wrong);
    else if (document.state !== 'offline') wrong.push(`/state: ${JSON.stringify(document.state)}`);
    return wrong;
  }
  const table = {
    position: [POSITION, positionSense],
    job: [JOB, null],
    point: [POINT, pointSense],
    alarm: [ALARM, null],
  }[kind];
  if (!table) return [`no retained document is to be published here`];
  if (object(document, table[0], '', wrong)) table[1]?.(document, wrong);
  if (document[kind] !== id) wrong.push(`/${kind}: ${document[kind]} on the topic of ${id}`);
  return wrong;
}

export function wrongEvent(site, event, packet) {
  const wrong = [];
  if (packet.retain) wrong.push('an event is retained');
  if (packet.qos !== 1) wrong.push(`an event has QoS ${packet.qos}`);
  if (packet.properties?.contentType !== 'application/cloudevents+json')
    wrong.push(`content type ${packet.properties?.contentType}`);
  if (event.specversion !== '1.0') wrong.push(`specversion ${event.specversion}`);
  if (!/^[1-9]\d*$/.test(event.id) || typeof event.id !== 'string')
    wrong.push(`id ${JSON.stringify(event.id)}`);
  if (event.source !== `/forelock/${site}`) wrong.push(`source ${event.source}`);
  if (
    !EVENTS.includes(String(event.type).replace(/^forelock\./, '')) ||
    !String(event.type).startsWith('forelock.')
  )
    wrong.push(`type ${event.type}`);
  if ('subject' in event && !isId(event.subject))
    wrong.push(`subject ${JSON.stringify(event.subject)}`);
  if ('time' in event && Number.isNaN(Date.parse(event.time))) wrong.push(`time ${event.time}`);
  const data = event.data ?? {};
  for (const name of ['job', 'position', 'at', 'evidence'])
    if (!(name in data)) wrong.push(`/data/${name}: missing`);
  if ('at' in data && !isTime(data.at)) wrong.push(`/data/at: ${data.at}`);
  if ('evidence' in data && !listOf(EVIDENCE)(data.evidence, '/data/evidence', wrong))
    wrong.push('/data/evidence: not a list');
  return wrong;
}

const WORD = { boot: isText, n: (v) => Number.isInteger(v) && v >= 0 };

export function wrongWord(word) {
  const wrong = [];
  object(word, WORD, '', wrong);
  return wrong;
}

export function wrongAnswer(answer) {
  const wrong = [];
  if (!object(answer, ANSWER, '', wrong)) return wrong;
  if (answer.accepted && answer.refusals?.length) wrong.push('accepted with refusals');
  if (!answer.accepted && !answer.refusals?.length) wrong.push('refused without a reason');
  const codes = (answer.refusals ?? []).map((r) => r.code);
  // `malformed` may name several places, but stands with no other code.
  if (
    codes.some((c) => c !== codes[0]) &&
    codes.some((c) => ['malformed', 'id-reused', 'unknown-site', 'unknown-verb'].includes(c))
  )
    wrong.push(`codes that stand alone: ${codes}`);
  return wrong;
}
