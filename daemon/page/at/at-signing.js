// Who may sign which check when, as far as a page can tell.
const OPEN_IN = {
  prepare: ['open', 'working', 'stopped', 'restoring', 'testing'],
  relieve: ['open', 'working', 'stopped'],
  verify: ['open', 'working', 'stopped'],
  work: ['working'],
  clear: ['working', 'stopped'],
  leave: ['working', 'stopped'],
  finish: ['testing'],
};

// Whether every point that the job requires is isolated and settled, as its document says.
function isolated(ctx) {
  const ids = ctx.procedure?.points ?? [];
  return (
    ids.length > 0 &&
    ids.every((id) => {
      const point = ctx.state.points[id];
      return point?.state === 'isolated' && point.trust !== 'settling';
    })
  );
}

function tagged(ctx, person) {
  const ids = ctx.procedure?.points ?? [];
  const counts = (x) => x.job === ctx.job.job && x.person === person && x.counts;
  return ids.length > 0 && ids.every((id) => ctx.state.points[id]?.tags.some(counts));
}

// Whether the window of a group may be open.
export function groupOpen(ctx, group) {
  if (!OPEN_IN[group]?.includes(ctx.job.phase)) return false;
  if (group !== 'relieve' && group !== 'verify') return true;
  return isolated(ctx) && tagged(ctx, ctx.job.technician);
}

export function signable(ctx, check) {
  if (!groupOpen(ctx, check.group)) return false;
  if (check.by) return ctx.who.has(check.by);
  if (!ctx.who.crew) return false;
  const handsIn = ['relieve', 'verify', 'work'].includes(check.group);
  return !handsIn || ctx.who.protected || tagged(ctx, ctx.who.person);
}

// Whether the hardware of this position may answer a check.
export const measured = (ctx, check) =>
  Boolean(check?.measure) &&
  (ctx.equipment?.measures ?? []).some(
    (m) => m.kind === check.measure && m.positions.includes(ctx.position),
  );

// Signing a check, or signing it again: with a form if it has a reading or wants words, else at a tap.
export function checkAction(ctx, check, again = false) {
  const reading = check.unit || check.instrument;
  const what = reading ? 'measure' : check.note ? 'answer' : 'sign';
  return {
    key: `sign ${check.check}`,
    verb: 'sign-check',
    body: { job: ctx.job.job, check: check.check },
    label: `do.${what}${again ? '-again' : ''}`,
    values: { check: check.ask },
    form: reading || check.note ? 'check' : null,
    check,
  };
}
