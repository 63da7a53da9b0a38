// Draws the first screen: the sign, the reason or the ladder, and the bar of buttons at the thumb.
import { el } from './dom.js';
import { duration, hasWord, t } from './words.js';
import { PANEL, sign } from './signs.js';
import {
  alarmSentence,
  personTitle,
  pointTitle,
  refusalSentence,
  wasSentence,
  whySentence,
} from './refusals.js';
import { stillSo } from './verdict.js';
import { ladder } from './at-steps.js';
import { reasonOf } from './at-verdict.js';
import { button, since, when } from './at-rows.js';
import { alarmAction, checkInAction, jobAlarmAction, nextStep, stopAction } from './at-actions.js';
import { testTitle, waitingRuns } from './at-tests.js';
import { ruleTitle } from './test-titles.js';

const SHOWN = 3;

// On a rung that is still to do, a check's own question says it all, and a test's name.
function lacking(ctx, refusal) {
  const check = ctx.procedure?.checks.find((c) => c.check === refusal.subject);
  if (refusal.code === 'check-missing' && check) return check.ask;
  const test = ctx.procedure?.tests.find((x) => x.test === refusal.subject);
  if (refusal.code === 'test-missing' && test && refusal.args?.say !== 'test-missing.notice') {
    const waits = waitingRuns(ctx.job.tests.find((x) => x.test === test.test) ?? {});
    const name = testTitle(ctx, test.test);
    return waits ? `${name}: ${t('test.run', waits)}` : `${name}: ${ruleTitle(test)}`;
  }
  const args = { ...refusal.args, ...(test && { test: testTitle(ctx, test.test) }) };
  return refusalSentence({ ...refusal, args }, ctx.equipment);
}

function rung(ctx, { rung: name, items, done, current }) {
  const todo = done ? t('rung.done') : t('rung.todo', { count: items.length });
  const head = el(
    'div',
    { class: 'rung-head' },
    el('span', { class: 'mark', 'aria-hidden': 'true' }, done ? '✓' : current ? '▶' : '○'),
    el('span', { class: 'rung-name' }, t(`rung.${name}`)),
    el('span', { class: 'rung-todo' }, todo),
  );
  const shown = current ? items.slice(0, SHOWN) : [];
  const list = shown.map((r) => el('li', {}, lacking(ctx, r)));
  const rest = current && items.length - shown.length;
  return el(
    'li',
    { class: done ? 'done' : current ? 'current' : 'later', 'aria-current': current && 'step' },
    head,
    list.length > 0 && el('ul', {}, list),
    rest > 0 && el('p', { class: 'rest' }, t('rung.more', { count: rest })),
  );
}

// What broke the lockout, as what was so then.
function broke(ctx, { why, point, at }) {
  const sentence = wasSentence(why, pointTitle(ctx.equipment, point));
  const values = { time: when(ctx, at), why: sentence };
  return sentence ? t('say.broke-why', values) : t('say.broke', values);
}

function brokenBy(ctx, alarm) {
  if (alarm.kind !== 'lockout-broken') return alarmSentence(alarm, ctx.equipment);
  if (!stillSo(ctx.state, alarm)) return broke(ctx, { ...alarm, at: alarm.raised });
  return whySentence(alarm.why, pointTitle(ctx.equipment, alarm.point)) ?? t('say.broken');
}

// Who stopped the work, in their words; a stop by nobody is a break.
function stoppedBy(ctx, stop) {
  if (!stop.by) return broke(ctx, stop);
  const values = { person: personTitle(ctx.equipment, stop.by), reason: stop.reason };
  const done = stop.pause ? 'paused' : 'stopped';
  return stop.reason ? t(`say.${done}-reason`, values) : t(`say.${done}-by`, values);
}

function stopReason(ctx, job) {
  const { alarm, stop } = reasonOf(ctx, job);
  if (alarm)
    return [
      el('p', { class: 'reason' }, brokenBy(ctx, alarm)),
      el('p', {}, since(alarm.raised), ` · ${t(`alarm.${alarm.state}`)}`),
    ];
  if (!stop) return [el('p', { class: 'reason' }, t('say.stopped'))];
  return [el('p', { class: 'reason' }, stoppedBy(ctx, stop)), el('p', {}, since(stop.at))];
}

const values = (ctx, verdict) => {
  const { leader } = verdict.values ?? {};
  return { ...verdict.values, ...(leader && { leader: personTitle(ctx.equipment, leader) }) };
};

const quiet = (ctx) =>
  ctx.siren.ringing &&
  el(
    'button',
    { class: 'plain on-sign', 'data-key': 'silence', onclick: ctx.silence },
    t('sound.silence'),
  );

function stopPart(ctx, verdict) {
  return el(
    'div',
    { class: 'stop-part' },
    stopReason(ctx, verdict.job),
    el(
      'div',
      { class: 'sound' },
      quiet(ctx),
      ctx.siren.blocked && el('p', { class: 'blocked' }, t('sound.blocked')),
    ),
  );
}

function ladderPart(ctx, verdict) {
  if (!verdict.job || verdict.kind === 'not-live' || verdict.kind === 'late') return null;
  const rungs = ladder(verdict.job, ctx.gate);
  if (rungs.length === 0) return null;
  const head = verdict.kind === 'stop' && el('h2', { class: 'recover' }, t('say.recover'));
  return el(
    'div',
    { class: 'ladder-part' },
    head,
    el(
      'ol',
      { class: 'ladder' },
      rungs.map((r) => rung(ctx, r)),
    ),
  );
}

// What is said of the job rests on people's words where a sensor is out of order.
const outOfOrder = ({ job }) =>
  job?.distrusted &&
  el(
    'p',
    { class: 'caution out-of-order' },
    t('caution.out-of-order', {
      sensors: job.distrusted.map((x) => x.sensor ?? t('reader.of', { point: x.reader })).join(', '),
    }),
  );

// A check-in that is overdue comes before the work: who leads says that all is well, who looks after
// them how they were found.
const overdue = (ctx) =>
  ctx.alarms.find(
    (a) =>
      a.kind === 'check-in-overdue' && a.job === ctx.job?.job && a.state !== 'acknowledged',
  );
function overdueAction(ctx) {
  const alarm = overdue(ctx);
  return alarm && (checkInAction(ctx) ?? alarmAction(ctx, alarm.alarm));
}

// By when who leads is to check in, and the button to do it, unless that stands in the bar.
function checkInPart(ctx, verdict) {
  const due = ctx.gate?.check_in_due;
  if (!due || verdict.kind === 'not-live' || verdict.kind === 'late') return null;
  const action = !overdue(ctx) && checkInAction(ctx);
  return el(
    'div',
    { class: 'check-in' },
    el('p', {}, t('check-in.by', { time: when(ctx, due) }), ' ', el('span', { 'data-due': due })),
    action && button(ctx, action),
  );
}

// The verdict's section. An urgent one fills the whole screen.
export function verdictSection(ctx, verdict) {
  const age = verdict.kind === 'late' && el('span', { 'data-news': '' }, ' ', duration(ctx.age));
  return el(
    'section',
    { id: 'verdict', class: `verdict ${verdict.kind}${ctx.urgent ? ' urgent' : ''}` },
    el(
      'div',
      { class: `panel ${PANEL[verdict.kind]}` },
      el(
        'div',
        { class: 'panel-head' },
        sign(verdict.kind),
        el('h1', { tabindex: -1, 'data-key': 'word' }, t(verdict.word), age),
      ),
      el('p', { class: 'say' }, t(verdict.say, values(ctx, verdict))),
      verdict.kind === 'stop' && stopPart(ctx, verdict),
    ),
    outOfOrder(verdict),
    checkInPart(ctx, verdict),
    ladderPart(ctx, verdict),
    (verdict.kind === 'confirmed' || verdict.kind === 'in-service') &&
      el('p', { class: 'caution' }, t('caution.try')),
  );
}

function waiting(text) {
  return el('p', { class: 'wait' }, text);
}

function nextPart(ctx, verdict) {
  if (verdict.kind === 'not-live') return waiting(t('wait.dead'));
  if (verdict.kind === 'late') return waiting(t('wait.late'));
  const acknowledge = verdict.kind === 'stop' && jobAlarmAction(ctx);
  if (ctx.urgent && ctx.unalarmed)
    return el(
      'button',
      { class: 'big next', 'data-key': 'seen', onclick: ctx.silence },
      t('do.seen'),
    );
  const step = acknowledge || overdueAction(ctx) || nextStep(ctx);
  if (!step) return null;
  if (step.wait) return waiting(t(step.wait, step.values));
  return button(ctx, step, 'big next');
}

// The bar at the thumb: stop on the left while there is something to stop, the next action beside it.
export function barSection(ctx, verdict) {
  const stop = ctx.state && stopAction(ctx);
  const next = ctx.asking
    ? el('p', { class: 'wait', role: 'status' }, t('answer.sending'))
    : nextPart(ctx, verdict);
  if (!stop && !next) return null;
  return el(
    'nav',
    { id: 'bar', 'aria-label': t('page.next') },
    stop && button(ctx, stop, 'big stop'),
    next,
  );
}
