// What the board says of a site, from its documents alone: what each position is, which are out and
// since when, what waits for whom. Pure, so that it can be tested without a browser.
import { verdictOf } from './verdict.js';

export const KINDS = ['stopped', 'working', 'testing', 'out', 'unknown', 'in-service'];

// The steps from a lockout to a return, as far as a job's phase tells them.
export const STEPS = ['isolate', 'work', 'restore', 'test', 'back'];
const STEP_OF = { open: 0, working: 1, stopped: 0, restoring: 2, testing: 3, returned: 4 };

export const stepOf = (job) => STEP_OF[job?.phase] ?? null;
export const stands = (job) => job.phase !== 'returned' && job.phase !== 'cancelled';

function kindOf(verdict, told) {
  if (!told) return 'unknown';
  if (verdict.kind === 'in-service' || verdict.kind === 'test') return verdict.kind;
  if (told.service === 'in-service') return 'unknown'; // in service, but nothing vouches for it
  if (verdict.kind === 'stop') return 'stopped';
  return verdict.job?.phase === 'working' ? 'working' : 'out';
}

const SIGNS = { stopped: 'stop', testing: 'test', out: 'not-safe', unknown: 'not-live' };

// {kind, sign, verdict, told}: kind is one of KINDS, sign the drawing that goes with it.
export function viewOf(state, position) {
  const told = state.positions[position];
  const verdict = verdictOf(state, position);
  const found = kindOf(verdict, told);
  const kind = found === 'test' ? 'testing' : found;
  return { kind, sign: SIGNS[kind] ?? verdict.kind, verdict, told, job: verdict.job };
}

// How many positions are of each kind, how many are out of service, and since when the oldest is.
export function countsOf(state, positions = Object.keys(state.positions)) {
  const counts = Object.fromEntries(KINDS.map((kind) => [kind, 0]));
  let oldest = null;
  let outs = 0;
  for (const position of positions) {
    const view = viewOf(state, position);
    counts[view.kind]++;
    if (view.told?.service === 'in-service') continue;
    outs++;
    const since = Date.parse(view.told?.since);
    if (Number.isFinite(since) && (oldest === null || since < oldest)) oldest = since;
  }
  const all = positions.length;
  return { ...counts, positions: all, outs, oldest, alarms: Object.keys(state.alarms).length };
}

const since = (document) => Date.parse(document?.since) || 0;

// Positions out of service, those that are out longest first; one without a known time before all.
export function outagesOf(state) {
  return Object.values(state.positions)
    .filter((p) => p.service !== 'in-service')
    .sort((a, b) => since(a) - since(b) || a.position.localeCompare(b.position));
}

const ORDER = ['unacknowledged', 'returned-unacknowledged', 'acknowledged'];

// Alarms, those that nobody has seen first, and of these the newest.
export function alarmsOf(state) {
  return Object.values(state.alarms).sort(
    (a, b) =>
      ORDER.indexOf(a.state) - ORDER.indexOf(b.state) ||
      Date.parse(b.raised) - Date.parse(a.raised),
  );
}

const lacks = (job, check) => {
  const signed = job.checks.find((c) => c.check === check.check);
  return !signed?.by || signed.void || !signed.pass;
};

// Checks that a role signs, that now lack a good signature and that who looks may sign, as the gates'
// documents say: [{job, check}], the oldest job first. `gateOf` gives the document of a position,
// `required` what a job's procedure requires, by the job's id.
export function waitsFor(state, gateOf, required) {
  return Object.values(state.jobs)
    .filter(stands)
    .sort((a, b) => Date.parse(a.opened) - Date.parse(b.opened))
    .flatMap((job) => {
      const gate = gateOf(job.position);
      const mine = (check) =>
        gate?.job === job.job &&
        gate.choices.some((c) => c.verb === 'sign-check' && c.check === check.check && !c.fails);
      return (required[job.job]?.checks ?? [])
        .filter((check) => check.by && lacks(job, check) && mine(check))
        .map((check) => ({ job, check }));
    });
}

// The positions of a forecourt by their dispensers, in the order of the configuration; without
// that, by the positions' own names.
export function cabinetsOf(state, equipment) {
  const list =
    equipment?.positions ??
    Object.keys(state.positions)
      .sort()
      .map((position) => ({ position, dispenser: position }));
  const cabinets = new Map();
  for (const entry of list) {
    if (!cabinets.has(entry.dispenser)) cabinets.set(entry.dispenser, []);
    cabinets.get(entry.dispenser).push(entry);
  }
  return [...cabinets].map(([dispenser, positions]) => ({
    dispenser,
    positions,
    points: pointsOf(equipment, positions),
  }));
}

function pointsOf(equipment, positions) {
  const ids = new Set(positions.map((p) => p.position));
  return (equipment?.points ?? []).filter((p) => p.isolates?.some((id) => ids.has(id)));
}

// The positions whose gates tell what the board offers: those that are out, and one without a job, for
// opening one anywhere; what concerns the whole site stands in every one of them.
export function askedOf(state) {
  const outs = outagesOf(state).map((p) => p.position);
  const free = Object.keys(state.positions).sort().find((p) => !state.positions[p].job);
  return free === undefined || outs.includes(free) ? outs : [...outs, free];
}

// The positions of which the gate may have changed with a document (its path below the site): null
// are all of them.
export function touchedBy(path, state, equipment) {
  const [kind, id] = path.split('/');
  if (kind === 'position') return [id];
  if (kind === 'job' && state.jobs[id]) return [state.jobs[id].position];
  if (kind === 'point') return equipment?.points.find((p) => p.point === id)?.isolates ?? null;
  return null;
}
