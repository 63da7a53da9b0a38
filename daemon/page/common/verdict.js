// What a position's sign says, from documents alone: 'stop', 'test', 'confirmed', 'in-service' or
// 'not-safe'. What is unknown, missing or contradictory is not safe.

const standing = (alarm) => alarm.state !== 'returned-unacknowledged';
const unseen = (alarm) => alarm.state !== 'acknowledged';

// While one of these stands, nobody knows what the points are doing.
const BLINDING = ['link-down', 'site-contested'];

// The alarms that concern a position: its own, its job's, and those of the whole site.
export function alarmsAt(state, position) {
  const job = state.positions[position]?.job;
  return Object.values(state.alarms).filter((a) =>
    a.job ? a.job === job || a.position === position : !a.position || a.position === position,
  );
}

// What has everybody out of the cabinet: a broken lockout, or a stop that somebody called.
const STOPPING = ['lockout-broken', 'stop-called'];

export const stopAlarms = (state, job) =>
  Object.values(state.alarms).filter((a) => STOPPING.includes(a.kind) && a.job === job.job);

const trusted = (...trusts) => (point) => trusts.includes(point.trust);
const proved = (point) => point.state === 'isolated' && trusted('fresh', 'witnessed')(point);

// What a point reads while it is still as the code of a break says.
const STILL = {
  'point-live': (point) => point.state === 'live',
  'point-disagrees': trusted('disagrees'),
  'point-settling': trusted('settling'),
  'point-stale': trusted('silent', 'stale'),
  'controller-offline': trusted('controller-offline'),
  'point-unknown': (point) => !proved(point),
};

// Whether what an alarm of a broken lockout names is so now, and not only what was so when it broke.
export function stillSo(state, { why, point, ...alarm }) {
  const told = state.points[point];
  if (STILL[why] && told) return STILL[why](told);
  if (BLINDING.includes(why) || why === 'journal-down')
    return Object.values(state.alarms).some((a) => a.kind === why && standing(a));
  return standing(alarm);
}

// The newest job that ended on a position, as far as it is still told.
export function lastEnded(state, position) {
  const ended = Object.values(state.jobs).filter(
    (j) => j.position === position && (j.phase === 'returned' || j.phase === 'cancelled'),
  );
  return ended.sort((a, b) => Date.parse(b.since) - Date.parse(a.since))[0] ?? null;
}

function stopped(state, job) {
  if (stopAlarms(state, job).some(unseen)) return true;
  if (job.phase === 'stopped') return true;
  return job.lockout === 'broken' && job.phase !== 'restoring' && job.phase !== 'testing';
}

function ofJob(state, job) {
  if (stopped(state, job)) return { kind: 'stop', word: 'state.stop' };
  if (job.phase === 'testing') return { kind: 'test', word: 'state.test' };
  const lacking = job.phase === 'open' && job.missing.length > 0;
  const hands = job.phase === 'working' || (job.phase === 'open' && !lacking);
  if (hands && job.lockout === 'confirmed') return { kind: 'confirmed', word: 'state.confirmed' };
  const unproven = job.lockout === 'unproven' && job.phase === 'working';
  return { kind: 'not-safe', word: 'state.not-safe', why: unproven ? 'unproven' : job.phase };
}

function withoutJob(state, position, told) {
  if (told.service !== 'in-service')
    return { kind: 'not-safe', word: 'state.not-safe', why: told.cause ?? 'unknown' };
  const back = lastEnded(state, position)?.phase === 'returned';
  return { kind: 'in-service', word: back ? 'state.back' : 'state.in-service' };
}

export const blindAlarm = (state) =>
  Object.values(state.alarms).find((a) => BLINDING.includes(a.kind) && standing(a));

// {kind, word, why?, job, blind?}: the sign of a position. `word` is a key of sign-words.js.
export function verdictOf(state, position) {
  const told = state?.positions[position];
  if (!told) return { kind: 'not-safe', word: 'state.not-safe', why: 'no-position', job: null };
  const job = told.job ? state.jobs[told.job] : null;
  if (told.job && !job)
    return { kind: 'not-safe', word: 'state.not-safe', why: 'unknown', job: null };
  const verdict = job ? ofJob(state, job) : withoutJob(state, position, told);
  const blind = blindAlarm(state);
  if (blind && (verdict.kind === 'confirmed' || verdict.kind === 'in-service'))
    return { kind: 'not-safe', word: 'state.not-safe', why: blind.kind, job };
  return { ...verdict, job };
}
