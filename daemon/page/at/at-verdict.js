// The first screen: what the sign says to the person who looks, and why.
import { blindAlarm, stopAlarms, verdictOf } from './verdict.js';

// Worst news first: a page that has none, or old ones, says only that.
function liveness(level) {
  if (level === 'unknown') return { kind: 'not-live', word: 'state.unknown', say: 'say.unknown' };
  if (level === 'dead') return { kind: 'not-live', word: 'state.dead', say: 'say.dead' };
  return null;
}

// A lockout protects those whose own locks hang, and nobody else.
function personal(verdict, who, job) {
  if (verdict.kind !== 'confirmed') return verdict;
  const not = { ...verdict, kind: 'not-safe', word: 'state.not-safe' };
  if (who.crew && !who.protected) return { ...not, say: 'say.not-protected' };
  if (who.crew) return { ...verdict, say: job.phase === 'open' ? 'say.start-first' : 'say.yours' };
  if (who.technician) return { ...not, say: 'say.not-crew', values: { leader: job.technician } };
  return {
    ...verdict,
    say: 'say.theirs',
    values: { crew: job.crew.map((c) => c.person).join(', ') },
  };
}

const SAY = { test: 'say.test', 'in-service': 'say.in-service', stop: 'say.stop' };

// A job that has ended, or that no longer has a lock anywhere and failed a test, holds its neighbors by
// that test.
function heldByTest({ state, failedBeside }, { with: id }) {
  const job = state.jobs[id];
  if (!job || ['returned', 'cancelled'].includes(job.phase) || failedBeside?.(id)) return true;
  const locked = Object.values(state.points).some((p) => p.tags.some((x) => x.job === id));
  return !locked && job.tests.some((x) => x.pass === false);
}

function whyOf(verdict, ctx, told) {
  const blind = blindAlarm(ctx.state);
  if (blind) return blind.kind; // whatever else, what is told is not known
  if (verdict.why === 'unknown') return 'unknown-cause';
  const beside = verdict.why === 'isolated-with' && heldByTest(ctx, told);
  return beside ? 'failed-with' : verdict.why;
}

function sayOf(verdict, ctx, told) {
  if (verdict.say) return verdict;
  if (verdict.kind !== 'not-safe') return { ...verdict, say: SAY[verdict.kind] };
  const why = whyOf(verdict, ctx, told);
  return { ...verdict, say: `say.${why}`, values: { with: told?.with ?? '?' } };
}

// {kind, word, say, values?, job}: `word` and `say` are keys of the page's words.
export function seen(ctx) {
  const { state, position, who, level } = ctx;
  const dead = liveness(level);
  if (dead || !state) return { ...(dead ?? liveness('unknown')), job: null };
  const plain = verdictOf(state, position);
  const verdict = sayOf(personal(plain, who, plain.job), ctx, state.positions[position]);
  if (level !== 'late' || verdict.kind === 'stop') return verdict;
  return { ...verdict, kind: 'late', word: 'state.late', say: 'say.late' };
}

// The reason of a stop: of the newest alarm of it that nobody has seen, else the newest, else of who
// stopped the work.
export function reasonOf(ctx, job) {
  const seen = (a) => a.state === 'acknowledged';
  const alarms = stopAlarms(ctx.state, job).sort(
    (a, b) => seen(a) - seen(b) || Date.parse(b.raised) - Date.parse(a.raised),
  );
  if (alarms.length > 0) return { alarm: alarms[0] };
  return { stop: ctx.stops.get(job.job) ?? null };
}
