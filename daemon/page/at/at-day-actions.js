// How each verb of the day around a repair is asked: a button, and the form behind it.
const ofJob = (ctx) => ({ job: ctx.job.job });
const here = (ctx) => ({ position: ctx.position });

const asking = (verb, label, body, form) => (ctx) => ({
  key: verb,
  verb,
  label,
  values: {},
  body: body(ctx),
  form,
});

export const DAY_ACTIONS = {
  'record-fuel': asking('record-fuel', 'do.record-fuel', ofJob, 'fuel'),
  'fit-part': asking('fit-part', 'do.fit-part', ofJob, 'part'),
  'report-fault': asking('report-fault', 'do.report-fault', here, 'fault'),
  'expect-back': asking('expect-back', 'do.expect-back', ofJob, 'expected'),
  attach: asking('attach', 'do.attach', ofJob, 'attachment'),
};

// Those that this person may ask here, in the contract's order.
export const dayActions = (ctx) =>
  Object.keys(DAY_ACTIONS)
    .filter((verb) => ctx.gate?.may.includes(verb))
    .map((verb) => DAY_ACTIONS[verb](ctx));
