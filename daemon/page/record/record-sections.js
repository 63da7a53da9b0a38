// The sections of the record, each from its part of the computed record.
import { cautionSentences } from './cautions.js';
import { el } from './dom.js';
import { figure, resultWords, valueWords, withUnit } from './numbers.js';
import {
  called,
  limits,
  name,
  reading,
  section,
  signature,
  small,
  table,
  time,
  voided,
  when,
  word,
} from './record-parts.js';
import { refusalSentence, whySentence } from './refusals.js';
import { choiceTitle, readingName, ruleName } from './test-titles.js';
import { t } from './words.js';

const pointTitle = (record, id) => called(id, record.points.find((p) => p.point === id)?.title);

export function people(record) {
  const credential = (c) => `${c.credential} ${c.until ?? '–'}`;
  const rows = record.crew.map((c) => [
    [name(c.person, c.title), c.led ? `, ${t('record.leader')}` : null],
    c.credentials.map(credential).join('; ') || '–',
    t('record.until', { from: when(c.joined), to: when(c.left ?? record.ended) }),
  ]);
  return section(
    'record.people',
    table('people', [t('record.person'), t('record.credentials'), t('record.joined')], rows),
  );
}

export const phases = (record) =>
  section(
    'record.phases',
    el(
      'ul',
      { class: 'pairs two' },
      record.phases.map((p) =>
        el(
          'li',
          {},
          time(p.at),
          ' ',
          el('b', {}, word('phase.', p.phase)),
          p.by ? ` · ${p.by}` : null,
        ),
      ),
    ),
  );

// Why a lock stopped counting, where its point did not read live.
const DISCOUNTED = {
  'check-failed': 'record.discounted-failed',
  'link-down': 'record.discounted-unheard',
};

function tagNotes(tag, record) {
  const notes = [
    !tag.counts && t('record.did-not-count'),
    tag.discounted &&
      t(DISCOUNTED[tag.discounted_why] ?? 'record.discounted', { time: when(tag.discounted) }),
    tag.reader && t('record.reader'),
    tag.adopted && t('record.adopted'),
    tag.job !== record.job &&
      (tag.job ? t('record.other-job', { job: tag.job }) : t('record.no-job')),
    tag.absent && t('record.absent', { reason: tag.reason ?? '–' }),
  ].filter(Boolean);
  return notes.length > 0 ? small(notes.join(' ')) : null;
}

export function locks(record) {
  if (record.tags.length === 0) return section('record.locks', el('p', {}, t('record.no-locks')));
  const by = (tag) =>
    tag.lifted_by && tag.lifted_by !== tag.person
      ? ` ${t('record.lifted-by', { person: called(tag.lifted_by, tag.lifted_by_title) })}`
      : null;
  const rows = record.tags.map((tag) => [
    pointTitle(record, tag.point),
    [called(tag.person ?? tag.badge, tag.title), tagNotes(tag, record)],
    time(tag.hung),
    tag.lifted ? [time(tag.lifted), by(tag)] : el('b', { class: 'bad' }, t('record.hangs')),
  ]);
  return section(
    'record.locks',
    table(
      'locks',
      [t('record.point'), t('record.owner'), t('record.hung'), t('record.lifted')],
      rows,
    ),
  );
}

// On paper nothing is heard now.
const trustWord = (trust) => (trust === 'fresh' ? t('record.heard') : word('trust.', trust));

// What was said of a sensor or reader: that it is out of order, or no longer.
const outOfOrder = (x) =>
  `${x.sensor ?? t('record.its-reader')}: ` +
  t(x.how === 'distrusted' ? 'record.out-of-order' : 'record.in-order') +
  (x.reason ? ` (${x.reason})` : '');

// A point that settles and then is settled is one line.
function wordsOf(words) {
  const settled = (i) =>
    words[i].trust === 'settling' &&
    words[i].state === words[i + 1]?.state &&
    words[i + 1].trust === 'fresh' &&
    words[i + 1].at;
  return words
    .map((x, i) => ({ ...x, settled: settled(i) || null }))
    .filter((_, i) => i === 0 || !settled(i - 1));
}

function wordRow(x) {
  const how = x.settled
    ? t('record.settled', { time: when(x.settled) })
    : trustWord(x.trust ?? 'witnessed');
  const by = x.by ? t('record.said-by', { person: called(x.by, x.title) }) : '';
  if (x.state === null) return { cells: [time(x.at), outOfOrder(x), by || '–'] };
  return { cells: [time(x.at), el('b', {}, word('point.', x.state)), by || how] };
}

export function points(record) {
  const rows = record.points.map((p) => ({
    head: [
      [name(p.point, p.title), p.energy && `, ${p.energy}`],
      word('point.', p.at_opening),
    ],
    rows: p.words.length > 0 ? wordsOf(p.words).map(wordRow) : [{ cells: ['–', '–', '–'] }],
  }));
  const heads = ['point', 'at-opening', 'time', 'state', 'how'];
  return section(
    'record.points',
    table(
      'points',
      heads.map((head) => t(`record.${head}`)),
      rows,
    ),
  );
}

const mark = (pass, good) =>
  el('span', { class: pass ? 'good' : 'bad' }, t(pass ? good : 'record.failed'));

const signedRow = (signed, rule) => ({
  void: Boolean(signed.void),
  cells: [
    signed.reading === undefined
      ? reading(signed.value, signed.unit)
      : valueWords({ ...signed, rule }),
    signature(signed),
    [mark(signed.pass, 'record.good'), voided(signed.void)],
  ],
});

const UNSIGNED = () => ({ cells: ['–', '–', t('record.not-signed')] });

export function checks(record) {
  // The leave checks are for a repair that is left half done; others say nothing by being unsigned.
  const told = record.checks.filter((c) => c.signatures.length > 0 || c.group !== 'leave');
  const rows = told.map((check) => ({
    head: [
      [check.group ? `${word('record.group-', check.group)}: ` : '', check.ask ?? check.check],
      limits(check),
    ],
    rows: check.signatures.length > 0 ? check.signatures.map((s) => signedRow(s, check.rule)) : [UNSIGNED()],
  }));
  const heads = ['check', 'limits', 'reading', 'signed', 'verdict'];
  return section(
    'record.checks',
    table(
      'checks',
      heads.map((head) => t(`record.${head}`)),
      rows,
    ),
  );
}

const readWords = ({ value, unit }) => {
  if (typeof value === 'number') return withUnit(figure(value), unit);
  return typeof value === 'boolean' ? t(value ? 'record.yes' : 'record.no') : choiceTitle(value);
};

// What was read, each by its name; a verdict by eye has none.
const inputs = (readings) =>
  readings
    .map((of) =>
      of.reading === 'pass' ? t('record.seen') : `${readingName(of.reading, of.title)} ${readWords(of)}`,
    )
    .join(', ') || '–';

// What the test is called, with its id and rule, and by whose text it is made.
function testHead(test) {
  const { rule, method, edition } = test;
  const ids = [test.test, rule && t('record.rule', { rule })].filter(Boolean).join(', ');
  const by = method && t('record.method', { method });
  return [
    el('b', {}, test.title ?? (rule ? ruleName(rule) : test.test)),
    ` (${ids})`,
    by && small(edition ? `${by}, ${t('record.edition', { edition })}` : by),
  ];
}

// By which formula, and where that comes from; several records of one test may have several. What a
// person saw is computed by none.
function methodOf(test) {
  const methods = test.records
    .filter((made) => made.result && made.result.rule !== 'pass-fail')
    .map(({ result: { formula, source } }) =>
      t('record.formula', { formula: formula || '–', source: source || '–' }),
    );
  return [...new Set(methods)].map((method) => small(method));
}

// What the instrument's own error makes of the verdict.
const decided = (result, unit) =>
  result?.decision &&
  small(
    `${word('record.decision-', result.decision)}, `,
    t('record.uncertainty', { uncertainty: reading(result.uncertainty, unit) }),
  );

function testRow(test, made) {
  const { result } = made;
  return {
    void: Boolean(made.void),
    cells: [
      inputs(made.readings),
      (result && resultWords({ ...made, value: result.value, margin: result.margin })) || '–',
      signature(made, decided(result, made.unit), cautionSentences(result).map((text) => small(text))),
      [mark(made.pass, 'record.passed'), voided(made.void)],
    ],
  };
}

export function tests(record) {
  const none = (test) => ({
    cells: ['–', limits(test), '–', t('record.not-recorded')],
  });
  const rows = record.tests.map((test) => ({
    head: [[testHead(test), methodOf(test)]],
    rows: test.records.length > 0 ? test.records.map((made) => testRow(test, made)) : [none(test)],
  }));
  const heads = ['test', 'inputs', 'value', 'signed', 'verdict'];
  return section(
    'record.tests',
    table(
      'tests',
      heads.map((head) => t(`record.${head}`)),
      rows,
    ),
  );
}

// What the sentences of refusals take titles from.
const equipmentOf = (record) => ({
  points: record.points,
  people: record.crew,
  positions: [{ position: record.position, title: record.position_title }],
});

function refusal(record, asked) {
  const list = asked.refusals.map((r) => refusalSentence(r, equipmentOf(record)));
  return el(
    'li',
    {},
    time(asked.at),
    ' ',
    el(
      'b',
      {},
      t('record.asked', {
        person: called(asked.by, asked.by_title ?? asked.title),
        verb: asked.asked,
      }),
    ),
    ': ',
    [...new Set(list)].join(' '),
  );
}

export const refusals = (record) =>
  section(
    'record.refusals',
    record.refusals.length === 0
      ? el('p', {}, t('record.no-stops'))
      : el(
          'ul',
          { class: 'pairs' },
          record.refusals.map((r) => refusal(record, r)),
        ),
  );

const evidence = (record, list) =>
  list
    .map(
      (e) =>
        `${pointTitle(record, e.point)} ${word('point.', e.state)} (${trustWord(e.trust)}` +
        `${e.distrusted ? `; ${t('record.out-of-order')}` : ''})`,
    )
    .join('; ');

// The point of a stop: its own, or that of the break which it came with.
const pointOf = (record, happened) =>
  happened.point ??
  record.stops.find((s) => s.what === 'lockout.broken' && s.at === happened.at)?.point ??
  null;

const why = (record, happened) => {
  const point = pointOf(record, happened);
  return whySentence(happened.why, point && pointTitle(record, point));
};

// The check that stopped the work, with what was read.
const stoppingCheck = ({ check, ask, ...read }) =>
  check && [ask ?? check, resultWords(read)].filter(Boolean).join(': ');

function happening(record, happened, withEvidence) {
  const because = why(record, happened);
  const parts = [
    happened.person && called(happened.person, happened.person_title),
    happened.to && `→ ${happened.to}`,
    happened.by && called(happened.by, happened.title),
    !because && happened.point && pointTitle(record, happened.point),
    because,
    stoppingCheck(happened),
    happened.by && happened.reason, // the gate's own reason is English, and its code is said above
    happened.version,
  ].filter(Boolean);
  return el(
    'li',
    {},
    time(happened.at),
    ' ',
    el('b', {}, happened.whats.map((what) => word('record.what-', what)).join(', ')),
    parts.length > 0 ? `: ${parts.join(' · ')}` : null,
    withEvidence && happened.evidence.length > 0
      ? small(t('record.evidence', { points: evidence(record, happened.evidence) }))
      : null,
  );
}

// Of what the points read then, a break and a stop tell something.
const TELLING = ['lockout.broken', 'stop.called', 'work.stopped'];

// A stop of the work is told with the break, or the call, that it came with.
function stopsOf(record) {
  const ledTo = (s) => ['lockout.broken', 'stop.called'].includes(s.what);
  const withIt = (s) =>
    s.what === 'work.stopped' && record.stops.find((o) => ledTo(o) && o.at === s.at);
  const told = record.stops.filter((s) => !withIt(s));
  const stopped = record.stops.map(withIt).filter(Boolean);
  return told.map((s) => ({
    ...s,
    whats: stopped.includes(s) ? [s.what, 'work.stopped'] : [s.what],
  }));
}

export function stops(record) {
  const list = stopsOf(record).map((s) => happening(record, s, TELLING.includes(s.what)));
  return section(
    'record.stops',
    list.length === 0 ? el('p', {}, t('record.no-stops')) : el('ul', { class: 'pairs' }, list),
  );
}

// Locks that came off in order are told with the locks.
export function crew(record) {
  const all = [...record.lockout, ...record.crew_changes, ...record.restarts];
  const list = all
    .filter((x) => !x.orderly)
    .sort((a, b) => a.seq - b.seq)
    .map((x) => happening(record, { ...x, whats: [x.what] }, false));
  return list.length > 0 && section('record.crew', el('ul', { class: 'pairs' }, list));
}

export function alarms(record) {
  const line = (a) =>
    el(
      'li',
      {},
      time(a.raised),
      ' ',
      el('b', {}, word('alarm.', a.kind)),
      a.point ? `: ${pointTitle(record, a.point)}` : null,
      a.count > 1 ? ` (${t('alarm.times', { count: a.count })})` : null,
      '; ',
      a.acknowledged
        ? t('record.acknowledged', {
            time: when(a.acknowledged),
            person: called(a.acknowledged_by, a.acknowledged_by_title),
          })
        : el('b', { class: 'bad' }, t('record.not-acknowledged')),
      a.note ? `: “${a.note}”` : null,
    );
  return (
    record.alarms.length > 0 &&
    section('record.alarms', el('ul', { class: 'pairs' }, record.alarms.map(line)))
  );
}
