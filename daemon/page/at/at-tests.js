// The tests that the leader may record now.
export function testActions(ctx) {
  if (ctx.job?.phase !== 'testing' || !ctx.who.leader) return [];
  return (ctx.procedure?.tests ?? []).map((test) => ({
    key: `test ${test.test}`,
    verb: 'record-test',
    body: { job: ctx.job.job, test: test.test },
    label: 'do.record',
    values: { test: test.test },
    form: 'test',
    test,
  }));
}
