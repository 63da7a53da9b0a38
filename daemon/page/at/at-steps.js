// The ladder: what the job's next gate asks for, rung by rung in the order the trade does it (29 CFR
// 1910.147(d): prepare, shut down, isolate, lock or tag, relieve, verify).

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
const CHECKS = ['prepare', 'relieve', 'verify', 'work', 'clear', 'finish', 'leave'];

// Rungs of each phase's next gate. Those in `ALWAYS` stand there when they are done, too.
const START = [
  'lead',
  'alarm',
  'people',
  'kit',
  'prepare',
  'isolate',
  'lock',
  'relieve',
  'verify',
  'shared',
  'other',
];
const LADDERS = {
  open: START,
  stopped: START,
  working: ['isolate', 'work', 'clear', 'other'],
  restoring: ['unlock', 'shared', 'other'],
  testing: ['restore', 'tests', 'finish', 'unlock', 'alarm', 'other'],
};
const ALWAYS = {
  open: ['isolate', 'lock'],
  stopped: ['isolate', 'lock'],
  working: [],
  restoring: ['unlock'],
  testing: ['restore', 'tests'],
};

// The group of a check that is missing; one whose subject is a group (nothing known) is that group's.
function groupOf(job, subject) {
  return job.checks.find((c) => c.check === subject)?.group ?? subject;
}

export function rungOf(job, refusal) {
  if (refusal.code.startsWith('check-')) {
    const group = groupOf(job, refusal.subject);
    return CHECKS.includes(group) ? group : 'other';
  }
  return RUNG_OF[refusal.code] ?? 'other';
}

// [{rung, items, done, current}]: `items` are the missing ones, `current` is the first with any.
export function ladder(job) {
  const rungs = LADDERS[job.phase];
  if (!rungs) return [];
  const items = {};
  for (const refusal of job.missing) (items[rungOf(job, refusal)] ??= []).push(refusal);
  const has = (rung) => job.checks.some((c) => c.group === rung);
  const out = rungs
    .filter((r) => items[r] || ALWAYS[job.phase].includes(r) || (CHECKS.includes(r) && has(r)))
    .map((rung) => ({ rung, items: items[rung] ?? [], done: !items[rung], current: false }));
  const strays = Object.keys(items).filter((r) => !rungs.includes(r));
  for (const rung of strays) out.push({ rung, items: items[rung], done: false, current: false });
  const current = out.find((r) => !r.done);
  if (current) current.current = true;
  return out;
}
