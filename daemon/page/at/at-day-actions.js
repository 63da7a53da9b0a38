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

// Of the job, where one stands here.
const spillBody = (ctx) => ({ ...here(ctx), ...(ctx.job ? ofJob(ctx) : {}) });

// The report of one spill, of those that are not reported.
const reported = (ctx, { spill } = {}) => ({
  key: `report-spill ${spill}`,
  verb: 'report-spill',
  label: 'do.report-spill',
  values: { spill },
  body: { spill },
  form: 'reported',
});

export const DAY_ACTIONS = {
  'record-fuel': asking('record-fuel', 'do.record-fuel', ofJob, 'fuel'),
  'fit-part': asking('fit-part', 'do.fit-part', ofJob, 'part'),
  'record-spill': asking('record-spill', 'do.record-spill', spillBody, 'spill'),
  'report-spill': reported,
  'report-fault': asking('report-fault', 'do.report-fault', here, 'fault'),
  'expect-back': asking('expect-back', 'do.expect-back', ofJob, 'expected'),
  attach: asking('attach', 'do.attach', ofJob, 'attachment'),
};

// Those that this person may ask here, in the contract's order.
export const dayActions = (ctx) =>
  Object.keys(DAY_ACTIONS)
    .filter((verb) => ctx.gate?.may.includes(verb))
    .flatMap((verb) =>
      ctx.gate.choices.filter((c) => c.verb === verb).map((choice) => DAY_ACTIONS[verb](ctx, choice)),
    );
