// The sections of the record, each from its part of the computed record.
import { el } from './dom.js';
import {
  instrument,
  limits,
  name,
  reading,
  section,
  small,
  table,
  time,
  voided,
  when,
  word,
} from './record-parts.js';
import { refusalSentence, whySentence } from './refusals.js';
import { t } from './words.js';

const pointTitle = (record, id) => name(id, record.points.find((p) => p.point === id)?.title);

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
      ? ` ${t('record.lifted-by', { person: name(tag.lifted_by, tag.lifted_by_title) })}`
      : null;
  const rows = record.tags.map((tag) => [
    pointTitle(record, tag.point),
    [name(tag.person ?? tag.badge, tag.title), tagNotes(tag, record)],
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

const outOfOrder = (x) =>
  `${when(x.at)} ${x.sensor ?? t('record.reader')}: ` +
  t(x.how === 'distrusted' ? 'record.out-of-order' : 'record.in-order') +
  (x.by ? `, ${t('record.said-by', { person: name(x.by, x.title) })}` : '') +
  (x.reason ? ` (${x.reason})` : '');

const said = (x) =>
  x.state === null ? outOfOrder(x) : heardOf(x);

const heardOf = (x) =>
  `${when(x.at)} ${word('point.', x.state)}${x.trust ? ` (${word('trust.', x.trust)})` : ''}` +
  (x.by ? `, ${t('record.said-by', { person: name(x.by, x.title) })}` : '');

export const points = (record) =>
  section(
    'record.points',
    record.points.map((p) =>
      el(
        'p',
        {},
        el('b', {}, name(p.point, p.title)),
        ` ${p.energy ?? ''}; `,
        t('record.at-opening', { state: word('point.', p.at_opening) }),
        '. ',
        el('span', { class: 'small' }, p.words.map(said).join(' · ')),
      ),
    ),
  );

const mark = (pass, good) =>
  el('span', { class: pass ? 'good' : 'bad' }, t(pass ? good : 'record.failed'));

function signedRow(signed) {
  const note = signed.note ? small(t('record.note', { note: signed.note })) : null;
  return {
    void: Boolean(signed.void),
    cells: [
      reading(signed.value, signed.unit),
      instrument(signed),
      [time(signed.at), ' ', name(signed.by, signed.title), note],
      [mark(signed.pass, 'record.good'), voided(signed.void)],
    ],
  };
}

const UNSIGNED = () => ({ cells: ['–', '–', '–', t('record.not-signed')] });

export function checks(record) {
  // The leave checks are for a repair that is left half done; others say nothing by being unsigned.
  const told = record.checks.filter((c) => c.signatures.length > 0 || c.group !== 'leave');
  const rows = told.map((check) => ({
    head: [
      [check.group ? `${word('record.group-', check.group)}: ` : '', check.ask ?? check.check],
      limits(check),
    ],
    rows: check.signatures.length > 0 ? check.signatures.map(signedRow) : [UNSIGNED()],
  }));
  const heads = ['check', 'limits', 'reading', 'instrument', 'signed', 'verdict'];
  return section(
    'record.checks',
    table(
      'checks',
      heads.map((head) => t(`record.${head}`)),
      rows,
    ),
  );
}

const inputs = (result) =>
  Object.entries(result?.inputs ?? {})
    .map(([key, value]) => `${key} = ${value}`)
    .join(', ') || '–';

function limitOf(result, test) {
  const limit = result?.limit;
  if (limit === null || limit === undefined) return '–';
  return typeof limit === 'object' ? limits({ ...limit, unit: test.unit }) : `${limit}`;
}

// By which formula, and where that comes from; several records of one test may have several.
function methodOf(test) {
  const methods = test.records
    .filter((made) => made.result)
    .map(({ result: { formula, source } }) =>
      t('record.formula', { formula: formula || '–', source: source || '–' }),
    );
  return [...new Set(methods)].map((method) => small(method));
}

function testRow(test, made) {
  const { result } = made;
  return {
    void: Boolean(made.void),
    cells: [
      inputs(result),
      reading(result?.value ?? null, test.unit),
      limitOf(result, test),
      result?.margin ?? '–',
      [
        time(made.at),
        ' ',
        name(made.by, made.title),
        made.instrument ? small(instrument(made)) : null,
        made.note ? small(t('record.note', { note: made.note })) : null,
      ],
      [mark(made.pass, 'record.passed'), voided(made.void)],
    ],
  };
}

export function tests(record) {
  const none = (test) => ({
    cells: ['–', '–', limits(test), '–', '–', t('record.not-recorded')],
  });
  const rows = record.tests.map((test) => ({
    head: [[`${test.test} (${test.rule ?? '?'})`, methodOf(test)]],
    rows: test.records.length > 0 ? test.records.map((made) => testRow(test, made)) : [none(test)],
  }));
  const heads = ['test', 'inputs', 'value', 'limit', 'margin', 'signed', 'verdict'];
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
        person: name(asked.by, asked.by_title ?? asked.title),
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
        `${pointTitle(record, e.point)} ${word('point.', e.state)} (${word('trust.', e.trust)}` +
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

function happening(record, happened, withEvidence) {
  const parts = [
    happened.person && name(happened.person, happened.person_title),
    happened.to && `→ ${happened.to}`,
    happened.by && name(happened.by, happened.title),
    happened.point && pointTitle(record, happened.point),
    why(record, happened),
    happened.by && happened.reason, // the gate's own reason is English, and its code is said above
    happened.version,
  ].filter(Boolean);
  return el(
    'li',
    {},
    time(happened.at),
    ' ',
    el('b', {}, word('record.what-', happened.what)),
    parts.length > 0 ? `: ${parts.join(' · ')}` : null,
    withEvidence && happened.evidence.length > 0
      ? small(t('record.evidence', { points: evidence(record, happened.evidence) }))
      : null,
  );
}

export const stops = (record) =>
  section(
    'record.stops',
    record.stops.length === 0
      ? el('p', {}, t('record.no-stops'))
      : el(
          'ul',
          { class: 'pairs' },
          record.stops.map((s) => happening(record, s, true)),
        ),
  );

export function crew(record) {
  const all = [...record.lockout, ...record.crew_changes, ...record.restarts];
  const list = all.sort((a, b) => a.seq - b.seq).map((x) => happening(record, x, false));
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
            person: name(a.acknowledged_by, a.acknowledged_by_title),
          })
        : el('b', { class: 'bad' }, t('record.not-acknowledged')),
      a.note ? `: “${a.note}”` : null,
    );
  return (
    record.alarms.length > 0 &&
    section('record.alarms', el('ul', { class: 'pairs' }, record.alarms.map(line)))
  );
}
