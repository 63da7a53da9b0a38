// The ladder: what the job's next gate asks for, rung by rung in the order the trade does it (29 CFR
// 1910.147(d): prepare, shut down, isolate, lock or tag, relieve, verify). What it asks for is the
// daemon's list; here each line of it only finds its rung.

const RUNG_OF = {
  'not-assigned': 'lead',
  'credential-missing': 'people',
  'credential-expired': 'people',
  'part-mismatch': 'kit',
  'energy-unmapped': 'isolate',
  'point-live': 'isolate',
  'point-unknown': 'isolate',
  'point-stale': 'isolate',
  'point-settling': 'isolate',
  'point-disagrees': 'isolate',
  'controller-offline': 'isolate',
  'tag-missing': 'lock',
  'tag-hung': 'unlock',
  'shared-testing': 'shared',
  'shared-locked': 'shared',
  'alarm-open': 'alarm',
  'point-not-restored': 'restore',
  'test-missing': 'tests',
  'test-failed': 'tests',
};
// As they are climbed. A rung of CLIMBED stands there when it is done, too.
const CLIMBED = [
  'prepare',
  'isolate',
  'lock',
  'relieve',
  'verify',
  'work',
  'clear',
  'leave',
  'unlock',
  'restore',
  'tests',
  'finish',
];
const ORDER = ['lead', 'alarm', 'people', 'kit', ...CLIMBED, 'shared', 'other'];

export const pointOf = (ctx, id) => ctx.equipment?.points.find((p) => p.point === id) ?? null;
export const checkOf = (ctx, id) => ctx.procedure?.checks.find((c) => c.check === id) ?? null;

// The group of a check that is missing; one whose subject is a group (nothing known) is that group's.
function groupOf(job, subject) {
  return job.checks.find((c) => c.check === subject)?.group ?? subject;
}

function rungOf(job, { code, subject }) {
  if (!code.startsWith('check-')) return RUNG_OF[code] ?? 'other';
  const group = groupOf(job, subject);
  return CLIMBED.includes(group) ? group : 'other';
}

// [{rung, items, done, current}]: `items` are the missing ones, `current` is the first with any. What
// is met is known from the gate's document, where that is of the same job and phase.
export function ladder(job, gate) {
  const items = Object.fromEntries(ORDER.map((rung) => [rung, []]));
  for (const refusal of job.missing) items[rungOf(job, refusal)].push(refusal);
  const same = gate?.job === job.job && gate.phase === job.phase;
  const met = (same ? gate.requirements : []).filter((r) => r.met).map((r) => rungOf(job, r));
  const shown = (rung) => items[rung].length > 0 || (CLIMBED.includes(rung) && met.includes(rung));
  const out = ORDER.filter(shown).map((rung) => ({
    rung,
    items: items[rung],
    done: items[rung].length === 0,
    current: false,
  }));
  const current = out.find((r) => !r.done);
  if (current) current.current = true;
  return out;
}
