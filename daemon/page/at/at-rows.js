// Rows below the first screen: points, checks, tests, crew, alarms, and what else may be asked.
import { cautionSentences } from './cautions.js';
import { el } from './dom.js';
import { limitWords, resultWords, testResult } from './numbers.js';
import { clockTime, t } from './words.js';
import { alarmSentence, personTitle, pointTitle } from './refusals.js';
import {
  alarmAction,
  checkAction,
  failAction,
  measured,
  moreActions,
  pointActions,
  testAction,
} from './at-actions.js';
import { testTitle, waitingRuns } from './at-tests.js';
import { ruleTitle } from './test-titles.js';

// Ages count on by themselves: `tickAges` fills these in.
export const since = (at) => el('time', { datetime: at, 'data-since': at });
const pointAge = (id, heard) => el('span', { 'data-point-age': id, 'data-heard': heard });

export function button(ctx, action, kind = 'row') {
  const classes = action.danger ? `${kind} danger` : kind;
  const off = ctx.mute(action) ? 'true' : null;
  return el(
    'button',
    {
      type: 'button',
      class: classes,
      'data-key': kind.startsWith('row') ? `row ${action.key}` : action.key,
      'aria-disabled': off,
      onclick: (event) =>
        event.currentTarget.getAttribute('aria-disabled') !== 'true' && ctx.press(action),
    },
    t(action.label, spoken(ctx, action.values)),
  );
}

function spoken(ctx, values) {
  return values?.owner ? { ...values, owner: personTitle(ctx.equipment, values.owner) } : values;
}

const section = (id, ...rows) =>
  el('section', { id, class: 'rows' }, el('h2', {}, t(`page.${id}`)), rows);

// A sentence with an age in it: the age is an element that counts.
function aged(key, values, ageElement) {
  const [before, after] = t(key, { ...values, age: '\u0000' }).split('\u0000');
  return [before, ageElement, after ?? ''];
}

// --- Points ---

function tagRow(ctx, tag) {
  const who = tag.person ? personTitle(ctx.equipment, tag.person) : (tag.badge ?? '?');
  const key = tag.counts ? 'point.tag' : tag.job ? 'point.tag-dead' : 'point.tag-loose';
  const mark = el('span', { class: 'mark', 'aria-hidden': 'true' }, tag.counts ? '✓' : '✕');
  const text = [mark, ' ', aged(key, { person: who }, since(tag.since))];
  return el('li', { class: tag.counts ? '' : 'bad' }, text);
}

// What was heard before the news stopped is said as what was, not as what is.
const stateWord = (ctx, state) =>
  ctx.level === 'live' ? t(`point.${state}`) : t('point.was', { state: t(`point.${state}`) });

const SHAPE = { isolated: '■', live: '▲', unknown: '?' };

// How long a word stands that is given in place of a sensor out of order.
const INSTEAD_OF_SENSOR_S = 14400;

// A sensor or reader out of order: what it is, and until when by whose word.
function outOfOrder(ctx, x) {
  const values = {
    sensor: x.sensor,
    person: personTitle(ctx.equipment, x.by),
    until: when(ctx, x.until),
    reason: x.reason,
  };
  const key = x.sensor ? 'point.distrusted' : 'point.distrusted-reader';
  return el('p', { class: 'note out-of-order' }, t(key, values));
}

// A word, and for how long the one that ends first is still good, so that it is renewed in time.
function said(ctx, id, told) {
  const point = ctx.equipment.points.find((p) => p.point === id);
  const valid = point?.sensors.length ? INSTEAD_OF_SENSOR_S : point?.witness_valid_s;
  const age = pointAge(id, told.heard);
  if (!valid) return aged('point.said', {}, age);
  const left = el('span', { 'data-point-left': id, 'data-heard': told.heard, 'data-valid': valid });
  const [before, between, after] = t('point.said-left', { age: '\u0000', left: '\u0000' }).split('\u0000');
  return [before, age, between, left, after];
}

function heard(ctx, id, told) {
  if (!told || told.heard === null) return t('point.never');
  if (told.trust === 'witnessed') return said(ctx, id, told);
  return aged('point.heard', {}, pointAge(id, told.heard));
}

function pointRow(ctx, point) {
  const told = ctx.state.points[point.point];
  const state = told?.state ?? 'unknown';
  const needed = !ctx.procedure || ctx.procedure.points.includes(point.point);
  return el(
    'article',
    { class: `point ${state}` },
    el('h3', {}, point.title),
    el(
      'p',
      { class: 'state' },
      el('span', { class: 'shape', 'aria-hidden': 'true' }, SHAPE[state]),
      el('strong', {}, stateWord(ctx, state)),
      ctx.level === 'live' && el('span', {}, t(`trust.${told?.trust ?? 'silent'}`)),
    ),
    el('p', { class: 'heard' }, heard(ctx, point.point, told)),
    told?.distrusted.map((x) => outOfOrder(ctx, x)),
    el(
      'ul',
      { class: 'tags' },
      told?.tags.length > 0
        ? told.tags.map((x) => tagRow(ctx, x))
        : el('li', {}, t('point.untagged')),
    ),
    !needed && el('p', { class: 'note' }, t('point.other')),
    point.locks === 'reader' && el('p', { class: 'note' }, t('point.by-reader')),
    pointActions(ctx, point.point).map((a) => button(ctx, a)),
  );
}

export function pointsSection(ctx) {
  const here = ctx.equipment.positions.find((p) => p.position === ctx.position);
  const ids = new Set([...(ctx.procedure?.points ?? []), ...(here?.points ?? [])]);
  const points = ctx.equipment.points.filter((p) => ids.has(p.point));
  return (
    points.length > 0 &&
    section(
      'points',
      points.map((p) => pointRow(ctx, p)),
    )
  );
}

// --- Checks and tests ---

function verdictMark(good, bad) {
  return el(
    'span',
    { class: `mark ${good ? 'good' : bad ? 'bad' : ''}`, 'aria-hidden': 'true' },
    good ? '✓' : bad ? '✕' : '○',
  );
}

// What was read or computed, the limits that it was held against, and how far it is from them.
const reading = (result) =>
  result.value !== null && el('span', { class: 'reading' }, resultWords(result));

// For how long what was signed or tested still stands, where that has an end: counted down, so that it
// is done again in time.
function standsFor({ at, until, pass, void: over }) {
  if (!until || !pass || over) return null;
  const valid = (Date.parse(until) - Date.parse(at)) / 1000;
  const left = el('time', { datetime: until, 'data-left-until': until, 'data-valid': valid });
  return aged('check.good-for', {}, left);
}

function checkState(ctx, signed) {
  if (signed.at === null) return t('check.unsigned');
  const person = signed.by && personTitle(ctx.equipment, signed.by);
  const key = person ? 'check.signed' : 'check.measured';
  return [
    signed.pass === false && el('strong', {}, t('check.failed'), ' '),
    signed.void && el('strong', {}, t('check.void'), ' '),
    aged(key, { person }, since(signed.at)),
    signed.instrument && `, ${signed.instrument}`,
    standsFor(signed),
  ];
}

function checkRow(ctx, signed) {
  const check = ctx.procedure?.checks.find((c) => c.check === signed.check);
  const good = signed.at !== null && signed.pass && !signed.void;
  const action = checkAction(ctx, signed.check);
  const failed = check && failAction(ctx, signed.check);
  const limits = { min: check?.min, max: check?.max };
  const hint = check?.unit && signed.value === null ? limitWords(check) : '';
  return el(
    'li',
    { class: 'line' },
    verdictMark(good, signed.pass === false),
    el(
      'div',
      {},
      el('p', { class: 'ask' }, check?.ask ?? signed.check, ' ', reading({ ...limits, ...signed, rule: check?.rule })),
      el('p', { class: 'small' }, checkState(ctx, signed), hint && ` (${hint})`),
      check?.by &&
        !good &&
        el('p', { class: 'small' }, t('check.by', { role: t(`role.${check.by}`) })),
      measured(ctx, check) && !good && el('p', { class: 'small' }, t('check.hardware')),
      action && button(ctx, action, good ? 'row again' : 'row'),
      failed && button(ctx, failed, 'row again'),
    ),
  );
}

export function checksSection(ctx) {
  const groups = [...new Set(ctx.job.checks.map((c) => c.group))];
  return (
    groups.length > 0 &&
    section(
      'checks',
      groups.map((group) => [
        el('h3', {}, t(`rung.${group}`)),
        el(
          'ul',
          {},
          ctx.job.checks.filter((c) => c.group === group).map((c) => checkRow(ctx, c)),
        ),
      ]),
    )
  );
}

function testState(ctx, record) {
  if (record.at === null) return t('test.none');
  const values = { person: personTitle(ctx.equipment, record.by) };
  const undecided = record.pass === null;
  const word = undecided ? 'test.borderline' : record.pass ? 'test.pass' : 'test.fail';
  const waits = waitingRuns(record);
  const averaged = !undecided && record.runs?.run > 1;
  return [
    el('strong', {}, t(word), ' '),
    record.void && el('strong', {}, t('test.void'), ' '),
    waits && `${t('test.run', waits)} `,
    averaged && `${t('test.mean', record.runs)} `,
    aged('test.by', values, since(record.at)),
    standsFor(record),
  ];
}

function testRow(ctx, record) {
  const test = ctx.procedure?.tests.find((x) => x.test === record.test);
  const good = record.at !== null && record.pass && !record.void;
  const action = testAction(ctx, record.test);
  const rule = test ? `: ${ruleTitle(test)}` : '';
  const result = ctx.resultOf(ctx.job, record);
  const held = result ? testResult(result, test) : { value: record.value, unit: test?.unit };
  const hint = test && !result ? limitWords(test) : '';
  return el(
    'li',
    { class: 'line' },
    verdictMark(good, record.pass === false),
    el(
      'div',
      {},
      el('p', { class: 'ask' }, `${testTitle(ctx, record.test)}${rule} `, reading(held)),
      el('p', { class: 'small' }, testState(ctx, record), hint && ` (${hint})`),
      cautionSentences(result).map((text) => el('p', { class: 'small result-caution' }, text)),
      action && button(ctx, action),
    ),
  );
}

export const testsSection = (ctx) =>
  ctx.job.tests.length > 0 &&
  section(
    'tests',
    el(
      'ul',
      {},
      ctx.job.tests.map((x) => testRow(ctx, x)),
    ),
  );

// --- Crew, alarms, the rest ---

// The work is over: whose locks are off is where they are to be.
const LOCKS_OFF = ['restoring', 'testing', 'returned', 'cancelled'];

function crewRow(ctx, member) {
  const marks = [];
  if (member.person === ctx.job.technician) marks.push(t('crew.leader'));
  if (member.person === ctx.job.offered) marks.push(t('crew.offered'));
  if (member.helper) marks.push(t('crew.helper'));
  const off = !member.protected && LOCKS_OFF.includes(ctx.job.phase);
  marks.push(t(member.protected ? 'crew.protected' : off ? 'crew.locks-off' : 'crew.unprotected'));
  return el(
    'li',
    { class: 'line' },
    verdictMark(member.protected, !member.protected && !off),
    el(
      'div',
      {},
      el('p', { class: 'ask' }, personTitle(ctx.equipment, member.person)),
      el('p', { class: 'small' }, marks.join(', ')),
    ),
  );
}

export const crewSection = (ctx) =>
  section(
    'crew',
    ctx.job.crew.length > 0
      ? el(
          'ul',
          {},
          ctx.job.crew.map((c) => crewRow(ctx, c)),
        )
      : el('p', {}, t('crew.none')),
  );

export function alarmsSection(ctx) {
  return (
    ctx.alarms.length > 0 &&
    section(
      'alarms',
      el(
        'ul',
        {},
        ctx.alarms.map((a) => {
          const action = alarmAction(ctx, a.alarm);
          const point = a.point ? `: ${pointTitle(ctx.equipment, a.point)}` : '';
          return el(
            'li',
            { class: 'line' },
            verdictMark(false, a.state !== 'acknowledged'),
            el(
              'div',
              {},
              el('p', { class: 'ask' }, t(`alarm.${a.kind}`), point),
              a.kind !== 'lockout-broken' && el('p', {}, alarmSentence(a, ctx.equipment)),
              el(
                'p',
                { class: 'small' },
                t(`alarm.${a.state}`),
                ', ',
                since(a.raised),
                a.count > 1 && `, ${t('alarm.times', { count: a.count })}`,
              ),
              action && button(ctx, action),
            ),
          );
        }),
      ),
    )
  );
}

export function moreSection(ctx) {
  const actions = moreActions(ctx);
  return (
    actions.length > 0 &&
    section(
      'more',
      actions.map((a) => button(ctx, a)),
    )
  );
}

// --- Notices ---

// What ends soon, or has ended, and concerns who looks or this job: before it stops a repair.
const ENDING = ['calibration-ended', 'credential-ended', 'calibration-ends', 'credential-ends'];

// Instruments that this job's checks and tests take; people of its crew, and who looks.
function concerns(ctx, { notice, subject, kind }) {
  if (notice.startsWith('credential'))
    return subject === ctx.who.person || ctx.job?.crew.some((c) => c.person === subject);
  const { checks = [], tests = [] } = ctx.procedure ?? {};
  return [...checks, ...tests].some((x) => x.instrument === kind);
}

export function noticesSection(ctx) {
  const mine = (ctx.state.notices ?? []).filter(
    (n) => ENDING.includes(n.notice) && concerns(ctx, n),
  );
  const said = ({ notice, subject, kind, until }) =>
    t(`notice.${notice}`, { subject: personTitle(ctx.equipment, subject), kind, until });
  return (
    mine.length > 0 &&
    el(
      'section',
      { id: 'notices', class: 'rows' },
      el('h2', {}, t('page.notices')),
      el(
        'ul',
        {},
        mine.map((n) => el('li', {}, said(n))),
      ),
    )
  );
}

export const when = (ctx, at) => clockTime(at, ctx.equipment?.time_zone);
