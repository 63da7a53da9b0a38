// What the person who looks may ask for, and which of it comes next. Pure: documents in, actions out.
// The daemon decides; this only spares people buttons that it would refuse. An action is {key, verb,
// body, label, values?, form?, confirm?, danger?}; `label` is a key of the page's words, `form` names
// what is to be filled in first, `confirm` asks once more.
import { ladder } from './at-steps.js';
import { checkAction, groupOpen, signable } from './at-signing.js';
import { testActions } from './at-tests.js';
import { blindAlarm } from './verdict.js';

const STANDS = ['open', 'working', 'stopped', 'restoring', 'testing'];

// Who looks, against the job.
export function standing(me, job) {
  const roles = me?.roles ?? [];
  const one = (...any) => any.some((r) => roles.includes(r));
  const member = job?.crew.find((c) => c.person === me.person) ?? null;
  return {
    person: me?.person,
    technician: one('technician'),
    overseer: one('supervisor', 'manager'),
    supervisor: one('supervisor'),
    desk: one('tracker', 'manager', 'supervisor'),
    has: (role) => one(role),
    crew: member !== null,
    protected: member?.protected ?? false,
    leader: job?.technician === me?.person,
    offered: job?.offered === me?.person,
  };
}

const simple = (verb, label, more = {}) => ({ key: verb, verb, label, ...more });

const tagOf = (point, job, person) =>
  point?.tags.find((x) => x.job === job.job && x.person === person);

// --- Points ---

export function witness(ctx, point, state) {
  const { who, job } = ctx;
  if (point.sensors.length > 0) return null;
  if (state === 'isolated' && !(job && (who.crew || who.overseer))) return null;
  const body = { point: point.point, state };
  if (job && (state === 'isolated' || who.crew)) body.job = job.job;
  return {
    key: `witness ${point.point} ${state}`,
    verb: 'witness-point',
    body,
    label: `do.witness-${state}`,
    values: { point: point.title },
  };
}

export function hang(ctx, point) {
  const { who, job, state } = ctx;
  const told = state.points[point.point];
  if (!job || !who.crew || !STANDS.includes(job.phase)) return null;
  if (!ctx.procedure?.points?.includes(point.point) || told?.state !== 'isolated') return null;
  if (tagOf(told, job, who.person)?.counts) return null;
  if (job.phase === 'restoring' || job.phase === 'testing') return null;
  return {
    key: `hang ${point.point}`,
    verb: 'hang-tag',
    body: { job: job.job, point: point.point },
    label: 'do.hang',
    values: { point: point.title },
  };
}

// A lock off while hands may be inside is asked for twice.
export function lift(ctx, point) {
  const { who, job, state } = ctx;
  if (!job || !tagOf(state.points[point.point], job, who.person)) return null;
  const safe = job.phase === 'restoring' || job.phase === 'testing';
  return {
    key: `lift ${point.point}`,
    verb: 'lift-tag',
    body: { job: job.job, point: point.point },
    label: 'do.lift',
    values: { point: point.title },
    confirm: safe ? null : job.phase === 'working' ? 'confirm.lift-working' : 'confirm.lift',
    danger: !safe,
  };
}

export function liftAbsent(ctx, point) {
  if (!ctx.who.supervisor) return [];
  const tags = ctx.state.points[point.point]?.tags ?? [];
  return tags
    .filter((x) => x.person !== ctx.who.person)
    .map((x) => {
      const whose = x.person ? { person: x.person } : { badge: x.badge };
      const job = x.job ? { job: x.job } : {};
      return {
        key: `absent ${point.point} ${x.person ?? x.badge} ${x.job}`,
        verb: 'lift-absent-tag',
        body: { ...job, point: point.point, ...whose },
        label: 'do.lift-absent',
        values: { owner: x.person ?? x.badge, point: point.title },
        form: 'absent',
        danger: true,
      };
    });
}

// --- The next step ---

const waits = (label, values = {}) => ({ wait: label, values });

function nextPoint(ctx, items) {
  for (const { subject, code } of items) {
    const point = ctx.equipment.points.find((p) => p.point === subject);
    if (!point) return waits('wait.unmapped', { energy: subject });
    const word = witness(ctx, point, 'isolated');
    if (word) return word;
    if (point.sensors.length === 0) return waits('wait.witness', { point: point.title });
    const settling = code === 'point-settling';
    return waits(settling ? 'wait.settle' : 'wait.isolated', { point: point.title });
  }
  return null;
}

function nextLock(ctx, items) {
  for (const { subject } of items) {
    const point = ctx.equipment.points.find((p) => p.point === subject);
    const action = point && hang(ctx, point);
    if (action) return action;
  }
  return waits('wait.locks');
}

function nextCheck(ctx, items) {
  for (const { subject } of items) {
    const check = ctx.procedure?.checks.find((c) => c.check === subject);
    if (check && signable(ctx, check)) return checkAction(ctx, check);
  }
  const check = ctx.procedure?.checks.find((c) => c.check === items[0].subject);
  return waits(check?.by ? `wait.by-${check.by}` : 'wait.crew', { check: check?.ask ?? '' });
}

function nextUnlock(ctx, items) {
  for (const { subject } of items) {
    const point = ctx.equipment.points.find((p) => p.point === subject);
    const action = point && lift(ctx, point);
    if (action) return action;
  }
  return waits('wait.unlocked');
}

function nextRestore(ctx, items) {
  const point = ctx.equipment.points.find((p) => p.point === items[0].subject);
  if (!point) return waits('wait.restored', { point: items[0].subject });
  return witness(ctx, point, 'live') ?? waits('wait.restored', { point: point.title });
}

function nextTest(ctx, items) {
  const mine = testActions(ctx);
  for (const { subject } of items) {
    const action = mine.find((a) => a.body.test === subject);
    if (action) return action;
  }
  return waits('wait.tests');
}

const NEXT = {
  lead: (ctx) => assign(ctx) ?? waits('wait.lead'),
  people: () => waits('wait.people'),
  kit: (ctx) => assign(ctx, 'do.name-kit') ?? waits('wait.kit'),
  shared: () => waits('wait.shared'),
  other: (ctx) => waits(`wait.${blindAlarm(ctx.state)?.kind ?? 'other'}`),
  alarm: (ctx) => jobAlarmAction(ctx) ?? waits('wait.alarm'),
  isolate: nextPoint,
  lock: nextLock,
  prepare: nextCheck,
  relieve: nextCheck,
  verify: nextCheck,
  work: nextCheck,
  clear: nextCheck,
  finish: nextCheck,
  unlock: nextUnlock,
  restore: nextRestore,
  tests: nextTest,
};

const GATE = {
  open: ['start-work', 'do.start'],
  stopped: ['start-work', 'do.start-again'],
  working: ['finish-work', 'do.finish'],
  restoring: ['begin-test', 'do.test'],
  testing: ['return-position', 'do.return'],
};

const BESIDE = ['people', 'kit', 'prepare', 'isolate'];

function gateAction(ctx) {
  const [verb, label] = GATE[ctx.job.phase];
  const blind = blindAlarm(ctx.state);
  const allowed = verb === 'finish-work' && blind?.kind === 'link-down';
  if (blind && !allowed) return waits(`wait.${blind.kind}`);
  if (!ctx.who.leader) return waits(`wait.${verb}`);
  return simple(verb, label, { body: { job: ctx.job.job } });
}

// The one thing to do next: an action, or {wait, values} where it is not for who looks.
export function nextStep(ctx) {
  const { job, who } = ctx;
  if (!job) return who.desk && ctx.equipment ? openAction(ctx) : null;
  if (!GATE[job.phase]) return null;
  if (who.offered) return simple('accept-lead', 'do.accept-lead', { body: { job: job.job } });
  if (!ctx.procedure) return waits('wait.procedure');
  const rungs = ladder(job).filter((r) => !r.done);
  if (rungs.length === 0) return gateAction(ctx);
  // A rung that waits for somebody else does not hide what this person can do beside it: preparing and
  // isolating go together, and no lock goes on before them.
  const first = NEXT[rungs[0].rung](ctx, rungs[0].items);
  if (!first?.wait) return first;
  const beside = rungs.slice(1).filter((r) => BESIDE.includes(r.rung));
  if (!BESIDE.includes(rungs[0].rung) && rungs[0].rung !== 'lead') return first;
  for (const rung of beside) {
    const later = NEXT[rung.rung](ctx, rung.items);
    if (later && !later.wait) return later;
  }
  return first;
}

// --- All the rest ---

export function alarmActions(ctx) {
  const { who, job, alarms } = ctx;
  return alarms
    .filter((a) => a.state !== 'acknowledged')
    .filter((a) => who.overseer || (who.crew && (!a.job || a.job === job?.job)))
    .map((a) => ({
      key: `ack ${a.alarm}`,
      verb: 'acknowledge-alarm',
      body: { alarm: a.alarm },
      label: 'do.acknowledge',
      values: { kind: a.kind },
    }));
}

// The alarm that keeps this job from going on, its broken lockout first: those of the site do not.
export function jobAlarmAction(ctx) {
  const broken = (x) => x.kind === 'lockout-broken';
  const mine = ctx.alarms.filter((x) => x.job && x.job === ctx.job?.job);
  mine.sort((a, b) => broken(b) - broken(a));
  const actions = mine.map((x) => alarmActions(ctx).find((a) => a.body.alarm === x.alarm));
  return actions.find(Boolean);
}

export function stopAction({ who, job }) {
  if (!job || !['working', 'restoring', 'testing'].includes(job.phase)) return null;
  if (!who.crew && !who.overseer) return null;
  return simple('stop-work', 'do.stop', { body: { job: job.job }, form: 'stop', danger: true });
}

function openAction(ctx) {
  const body = { position: ctx.position };
  return simple('open-job', 'do.open', { body, form: 'open' });
}

// A technician in charge, and the kit that was brought, are named by the desk before locks hang.
function assign({ who, job, equipment }, label = 'do.assign') {
  const known = equipment?.people.some((p) => p.roles.includes('technician'));
  if (!who.desk || job.phase !== 'open' || !known) return null;
  return simple('assign-job', label, { body: { job: job.job }, form: 'assign' });
}

function peopleActions(ctx, body) {
  const { who, job } = ctx;
  const out = [];
  if (who.technician && !who.crew) out.push(simple('join-job', 'do.join', { body }));
  if (who.crew && !who.leader)
    out.push(simple('leave-job', 'do.leave', { body, confirm: 'confirm.leave' }));
  const others = job.crew.filter((c) => c.person !== job.technician);
  if ((who.leader || who.supervisor) && others.length > 0) {
    out.push(simple('hand-over', 'do.hand-over', { body, form: 'to' }));
    out.push({ ...simple('leave-job', 'do.leave-other', { body, form: 'member' }), key: 'member' });
  }
  const named = assign(ctx);
  if (named) out.push(named);
  return out;
}

function turnActions({ who, job }, body) {
  const out = [];
  const reason = (verb, label) => simple(verb, label, { body, form: 'reason', danger: true });
  if (who.leader && ['restoring', 'testing'].includes(job.phase))
    out.push(reason('rework', 'do.rework'));
  if (who.leader && ['working', 'stopped'].includes(job.phase))
    out.push(reason('set-aside', 'do.set-aside'));
  if (who.desk && job.phase === 'open') out.push(reason('cancel-job', 'do.cancel'));
  return out;
}

// What else may be asked for about the job as a whole; of points, checks and tests see their rows.
export function moreActions(ctx) {
  if (!ctx.job || !STANDS.includes(ctx.job.phase)) return [];
  const body = { job: ctx.job.job };
  return [...peopleActions(ctx, body), ...turnActions(ctx, body)];
}

export { groupOpen };
