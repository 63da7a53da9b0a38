// What the daemon says that the person who looks may ask, as buttons. Pure: documents in, actions out.
// Nothing here decides whether somebody may; it says how a way to ask is labeled, filled in and
// confirmed. An action is {key, verb, body, label, values?, form?, confirm?, danger?}; `label` is a key
// of the page's words, `form` names what is to be filled in first, `confirm` asks once more.
import { checkOf, pointOf } from './at-steps.js';
import { recordOf, testTitle, waitingRuns } from './at-tests.js';
import { DAY_ACTIONS } from './at-day-actions.js';

// Who looks, against the crew of the job.
export function standing(me, job) {
  const member = job?.crew.find((c) => c.person === me?.person) ?? null;
  return {
    person: me?.person,
    technician: me?.roles.includes('technician') ?? false,
    crew: member !== null,
    protected: member?.protected ?? false,
  };
}

const choicesOf = (ctx, verb) => ctx.gate?.choices.filter((c) => c.verb === verb) ?? [];

// The job's own gate, if the job is about to be tested or returned: a lock that comes off then is no
// surprise, and while work goes on it is one.
const LIFTED = { test: null, return: null, finish: 'confirm.lift-working' };
const liftConfirm = (ctx) => (ctx.gate.gate in LIFTED ? LIFTED[ctx.gate.gate] : 'confirm.lift');

const titleOf = (ctx, id) => pointOf(ctx, id)?.title ?? id;
const simple = (verb, label, more = {}) => ({ key: verb, verb, label, ...more });
const ofJob = (ctx) => ({ job: ctx.job.job });

function witness(ctx, { point, state }) {
  const body = { point, state };
  if (ctx.job && (state === 'isolated' || ctx.who.crew)) body.job = ctx.job.job;
  const again = ctx.state.points[point]?.state === state ? '-again' : '';
  return {
    key: `witness ${point} ${state}`,
    verb: 'witness-point',
    body,
    label: `do.witness-${state}${again}`,
    values: { point: pointOf(ctx, point).title },
  };
}

const hang = (ctx, { point }) => ({
  key: `hang ${point}`,
  verb: 'hang-tag',
  body: { ...ofJob(ctx), point },
  label: 'do.hang',
  values: { point: pointOf(ctx, point).title },
});

// A lock off while hands may be inside is asked for twice.
function lift(ctx, { point }) {
  const confirm = liftConfirm(ctx);
  return {
    key: `lift ${point}`,
    verb: 'lift-tag',
    body: { ...ofJob(ctx), point },
    label: 'do.lift',
    values: { point: pointOf(ctx, point).title },
    confirm,
    danger: confirm !== null,
  };
}

// Whether the hardware of this position may answer a check.
export const measured = (ctx, check) =>
  Boolean(check?.measure) &&
  (ctx.equipment?.measures ?? []).some(
    (m) => m.kind === check.measure && m.positions.includes(ctx.position),
  );

// Saying that a check failed: of one with a reading the reading says it, of any other a word.
function fail(ctx, check) {
  return {
    key: `fail ${check.check}`,
    verb: 'sign-check',
    body: { ...ofJob(ctx), check: check.check, ...(check.unit ? {} : { pass: false }) },
    label: 'do.fail',
    values: { check: check.ask },
    form: check.unit ? 'check' : null,
    confirm: check.unit ? null : 'confirm.fail',
    check,
    danger: true,
  };
}

// Signing a check, or signing it again: with a form if it has a reading or wants words, else at a tap.
function sign(ctx, { check: id, fails, note: how }) {
  if (fails) return fail(ctx, checkOf(ctx, id));
  const check = checkOf(ctx, id);
  const signed = ctx.job.checks.find((c) => c.check === id);
  const again = signed?.at && signed.pass && !signed.void;
  const reading = check.unit || check.instrument;
  const what = reading ? 'measure' : check.note ? 'answer' : 'sign';
  return {
    key: `sign ${id}`,
    verb: 'sign-check',
    body: { ...ofJob(ctx), check: id },
    label: `do.${what}${again ? '-again' : ''}`,
    values: { check: check.ask },
    form: reading || check.note || how ? 'check' : null,
    check,
    how,
  };
}

function record(ctx, { test: id, note }) {
  const test = ctx.procedure?.tests.find((x) => x.test === id);
  const waits = waitingRuns(recordOf(ctx, id) ?? {});
  return {
    key: `test ${id}`,
    verb: 'record-test',
    body: { ...ofJob(ctx), test: id },
    label: waits ? 'do.record-run' : 'do.record',
    values: { test: testTitle(ctx, id), run: waits?.next, of: waits?.of },
    form: 'test',
    test,
    waits,
    again: Boolean(note),
  };
}

// What is acknowledged is what was seen: another cause that comes meanwhile is another raising.
// Whose lock was removed says so before anything else.
const confirmTold = (ctx) =>
  simple('confirm-told', 'do.confirm-told', {
    body: {},
    values: { point: titleOf(ctx, ctx.gate.next?.subject) },
  });

const acknowledge = (ctx, { alarm, note }) => ({
  key: `ack ${alarm}`,
  verb: 'acknowledge-alarm',
  body: { alarm, raised: ctx.state.alarms[alarm].raised },
  label: 'do.acknowledge',
  form: note ? 'done' : null,
  kind: ctx.state.alarms[alarm].kind,
});

// A sensor, or the reader of a point, that is out of order or no longer is.
function outOfOrder(ctx, { verb, sensor, reader }) {
  const point = pointOf(ctx, reader)?.title ?? reader; // the equipment may not be read yet
  const distrusts = verb === 'distrust-sensor';
  return {
    key: `${verb} ${sensor ?? `reader ${reader}`}`,
    verb,
    body: sensor ? { sensor } : { reader },
    label: `do.${distrusts ? 'distrust' : 'trust'}-${sensor ? 'sensor' : 'reader'}`,
    values: { sensor, point },
    form: distrusts ? 'distrust' : null,
    danger: distrusts,
  };
}

const plain = (verb, label) => (ctx) => simple(verb, label, { body: ofJob(ctx) });
const withReason = (verb, label) => (ctx) =>
  simple(verb, label, { body: ofJob(ctx), form: 'reason', danger: true });

// How each verb is asked.
const ACTIONS = {
  'witness-point': witness,
  'hang-tag': hang,
  'lift-tag': lift,
  'sign-check': sign,
  'record-test': record,
  'confirm-told': confirmTold,
  'lift-absent-tag': seeOff,
  'acknowledge-alarm': acknowledge,
  'distrust-sensor': outOfOrder,
  'trust-sensor': outOfOrder,
  'open-job': (ctx) =>
    simple('open-job', 'do.open', { body: { position: ctx.position }, form: 'open' }),
  'assign-job': (ctx) =>
    simple('assign-job', ctx.gate.next?.code === 'part-mismatch' ? 'do.name-kit' : 'do.assign', {
      body: ofJob(ctx),
      form: 'assign',
    }),
  'join-job': plain('join-job', 'do.join'),
  'leave-job': (ctx) =>
    simple('leave-job', 'do.leave', { body: ofJob(ctx), confirm: 'confirm.leave' }),
  'hand-over': (ctx) => simple('hand-over', 'do.hand-over', { body: ofJob(ctx), form: 'to' }),
  'accept-lead': plain('accept-lead', 'do.accept-lead'),
  'start-work': (ctx) =>
    plain('start-work', ctx.job.phase === 'stopped' ? 'do.start-again' : 'do.start')(ctx),
  'stop-work': (ctx) =>
    simple('stop-work', 'do.stop', { body: ofJob(ctx), form: 'stop', danger: true }),
  'check-in': plain('check-in', 'do.check-in'),
  'finish-work': plain('finish-work', 'do.finish'),
  'begin-test': plain('begin-test', 'do.test'),
  'return-position': plain('return-position', 'do.return'),
  rework: withReason('rework', 'do.rework'),
  'set-aside': withReason('set-aside', 'do.set-aside'),
  'cancel-job': withReason('cancel-job', 'do.cancel'),
  ...DAY_ACTIONS,
};

// A way to ask as an action; null while the page does not know yet what it is about.
function actionOf(ctx, choice) {
  const lacks =
    (choice.point && !pointOf(ctx, choice.point)) ||
    (choice.check && !checkOf(ctx, choice.check)) ||
    (choice.alarm && !ctx.state?.alarms[choice.alarm]) ||
    (choice.test && !ctx.procedure?.tests.some((x) => x.test === choice.test));
  return lacks ? null : ACTIONS[choice.verb]?.(ctx, choice);
}

const actions = (ctx, verb, fits) =>
  choicesOf(ctx, verb)
    .filter(fits)
    .map((choice) => actionOf(ctx, choice))
    .filter(Boolean);

// --- Of one thing ---

// A lock of mine that counts is there already: hanging it again would say nothing new.
const hangsMine = (ctx, id) =>
  ctx.state.points[id]?.tags.some(
    (x) => x.job === ctx.job?.job && x.person === ctx.who.person && x.counts,
  );

// A lock that its owner lifted and that its reader still sees is seen off, not removed.
function seeOff(ctx, { point, person }) {
  return {
    key: `off ${point} ${person}`,
    verb: 'lift-absent-tag',
    body: { point, person, attest: { seen_off: true } },
    label: 'do.see-off',
    values: { owner: person, point: titleOf(ctx, point) },
    form: 'reason',
  };
}

// Every lock is removed by itself, with the job that it hangs for.
function absentActions(ctx, id) {
  const choices = choicesOf(ctx, 'lift-absent-tag').filter((c) => c.point === id);
  const theirs = (x) => (c) =>
    !c.seen_off && (c.person ? c.person === x.person : c.badge === x.badge);
  const tags = ctx.state.points[id]?.tags ?? [];
  const removed = tags
    .filter((x) => choices.some(theirs(x)))
    .map((x) => ({
      key: `absent ${id} ${x.person ?? x.badge} ${x.job}`,
      verb: 'lift-absent-tag',
      body: {
        ...(x.job ? { job: x.job } : {}),
        point: id,
        ...(x.person ? { person: x.person } : { badge: x.badge }),
      },
      label: 'do.lift-absent',
      values: { owner: x.person ?? x.badge, point: pointOf(ctx, id).title },
      form: 'absent',
      danger: true,
    }));
  return [...choices.filter((c) => c.seen_off).map((c) => seeOff(ctx, c)), ...removed];
}

// Whether a sensor of the point, or its reader, may be said to be out of order or in order again: of a
// sensor where the point is not known or its sensors disagree, of a reader where one is there.
function ofHardware(ctx, id, { verb, sensor, reader }) {
  const told = ctx.state.points[id];
  const { sensors, locks } = pointOf(ctx, id);
  const is = told?.distrusted.some((x) => (sensor ? x.sensor === sensor : x.reader === reader));
  const doubtful = told?.state === 'unknown' || told?.trust === 'disagrees';
  const read = locks === 'reader' || told?.tags.some((x) => x.badge);
  if (sensor ? !sensors.includes(sensor) : reader !== id) return false;
  return verb === 'trust-sensor' ? is : is || (sensor ? doubtful : read);
}

// A word of isolated may be renewed while it stands; one of live only needs to be once it is old.
export function pointActions(ctx, id) {
  const { state, trust } = ctx.state.points[id] ?? { state: 'unknown' };
  const here = (c) => c.point === id;
  const says = (c) => c.state !== state || (trust === 'witnessed' && state === 'isolated');
  return [
    ...actions(ctx, 'hang-tag', (c) => here(c) && !hangsMine(ctx, id)),
    ...actions(ctx, 'lift-tag', here),
    ...actions(ctx, 'witness-point', (c) => here(c) && says(c)),
    ...absentActions(ctx, id),
    ...actions(ctx, 'distrust-sensor', (c) => ofHardware(ctx, id, c)),
    ...actions(ctx, 'trust-sensor', (c) => ofHardware(ctx, id, c)),
  ];
}

export const checkAction = (ctx, id) => actions(ctx, 'sign-check', (c) => c.check === id)[0];
// Whoever may sign a check that people's lives hang on may say as well that it does not hold: one with a
// reading says so by the reading.
const HELD = ['prepare', 'relieve', 'verify'];
export function failAction(ctx, id) {
  const check = checkOf(ctx, id);
  const may = choicesOf(ctx, 'sign-check').some((c) => c.check === id && !c.fails);
  return may && !check.unit && HELD.includes(check.group) ? fail(ctx, check) : null;
}

export const testAction = (ctx, id) => actions(ctx, 'record-test', (c) => c.test === id)[0];
export const alarmAction = (ctx, id) => actions(ctx, 'acknowledge-alarm', (c) => c.alarm === id)[0];

// --- The bar and the rest ---

// The alarm that keeps this job from going on, the most urgent first, what takes everybody out before
// a check-in: those of the site do not.
const URGENCY = ['urgent', 'high', 'low'];
const OUT_FIRST = ['check-in-overdue', 'stop-called', 'lockout-broken'];

export function jobAlarmAction(ctx) {
  const mine = ctx.alarms.filter((x) => x.job && x.job === ctx.job?.job);
  const late = (x) => URGENCY.indexOf(x.priority) * 10 - OUT_FIRST.indexOf(x.kind);
  mine.sort((a, b) => late(a) - late(b));
  return mine.map((x) => alarmAction(ctx, x.alarm)).find(Boolean);
}

// A stop is everybody's, while a job stands, and as long as nobody has said who may: the daemon never
// refuses one for its form.
export function stopAction(ctx) {
  if (!ctx.job) return null;
  const known = ctx.gate && ctx.gate.phase === ctx.job.phase;
  if (known && !ctx.gate.may.includes('stop-work')) return null;
  return ACTIONS['stop-work'](ctx);
}

// Who leads may let the work rest: nothing was seen, and what was proved stands.
function pauseAction(ctx) {
  const leads = ctx.job.technician === ctx.who.person && ctx.job.phase === 'working';
  const body = { ...ofJob(ctx), pause: true };
  return leads && { key: 'pause', verb: 'stop-work', body, label: 'do.pause' };
}

// Who leads says that all is well, where the job asks for it.
export const checkInAction = (ctx) =>
  ctx.gate?.may.includes('check-in') ? ACTIONS['check-in'](ctx) : null;

const waits = (label, values = {}) => ({ wait: label, values });

// What a step waits for that no request brings about, by the code of what lacks.
function waitsFor(ctx, { code, subject }) {
  if (code === 'energy-unmapped') return waits('wait.unmapped', { energy: subject });
  if (code === 'point-settling') return waits('wait.settle', { point: titleOf(ctx, subject) });
  if (code === 'point-not-restored') return waits('wait.restored', { point: titleOf(ctx, subject) });
  if (/^point-|^controller-/.test(code)) return waits('wait.isolated', { point: titleOf(ctx, subject) });
  if (/^credential-/.test(code)) return waits('wait.people');
  if (code === 'tag-missing') return waits('wait.reader', { point: titleOf(ctx, subject) });
  if (code === 'tag-hung') return waits('wait.unlocked');
  if (/^shared-/.test(code)) return waits('wait.shared');
  const own = {
    'part-mismatch': 'wait.kit',
    'not-assigned': 'wait.lead',
    'link-down': 'wait.link-down',
    'site-contested': 'wait.site-contested',
  };
  return waits(own[code] ?? 'wait.other');
}

// Whom a step waits for that is not for who looks.
function waitsForOthers(ctx, { verb, by, code, point, check, state }) {
  switch (verb) {
    case 'witness-point':
      return waits(state === 'live' ? 'wait.restored' : 'wait.witness', { point: titleOf(ctx, point) });
    case 'sign-check': {
      const role = by.find((who) => who !== 'crew' && who !== 'leader');
      const ask = checkOf(ctx, check)?.ask ?? '';
      return waits(role ? `wait.by-${role}` : 'wait.crew', { check: ask });
    }
    case 'assign-job':
      if (/^credential-/.test(code)) return waits('wait.lead-credential');
      return waits(code === 'part-mismatch' ? 'wait.kit' : 'wait.lead');
    case 'hang-tag':
      return waits('wait.locks');
    case 'lift-tag':
      return waits('wait.unlocked');
    case 'lift-absent-tag':
      return waits('wait.see-off', { point: titleOf(ctx, point) });
    case 'join-job':
    case 'hand-over':
    case 'accept-lead':
      return waits(`wait.${verb}`);
    case 'record-test':
      return waits('wait.tests');
    case 'acknowledge-alarm':
      return waits(by.includes('crew') ? 'wait.alarm' : 'wait.alarm-overseer');
    case 'distrust-sensor':
      return waits('wait.distrust-sensor', { point: titleOf(ctx, point) });
    default:
      return waits(`wait.${verb}`);
  }
}

// The one thing to do next: an action, or {wait, values} where it is not for who looks.
export function nextStep(ctx) {
  const next = ctx.gate?.next;
  if (!next) return null;
  if (next.verb === null) return waitsFor(ctx, next);
  if (!next.mine) return waitsForOthers(ctx, next);
  return actionOf(ctx, next) ?? waits('wait.procedure');
}

// What else may be asked for about the job as a whole; of points, checks and tests see their rows.
const MORE = ['join-job', 'leave-job', 'hand-over', 'assign-job', 'rework', 'set-aside', 'cancel-job'];

export function moreActions(ctx) {
  if (!ctx.job || !ctx.gate) return [];
  const self = (verb) => verb !== 'leave-job' || choicesOf(ctx, verb).some((c) => !c.person);
  const out = MORE.filter((verb) => ctx.gate.may.includes(verb) && self(verb)).map((verb) =>
    ACTIONS[verb](ctx),
  );
  const pause = pauseAction(ctx);
  if (pause) out.unshift(pause);
  if (choicesOf(ctx, 'leave-job').some((c) => c.person)) {
    const other = simple('leave-job', 'do.leave-other', { body: ofJob(ctx), form: 'member' });
    out.push({ ...other, key: 'member' });
  }
  return out;
}

// The people whom a verb may be about, as the daemon lists them.
export const peopleOf = (ctx, verb, member) =>
  choicesOf(ctx, verb)
    .map((c) => c[member])
    .filter(Boolean);
