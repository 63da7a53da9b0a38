// Tests: what they are called and what was recorded.
import { shown } from './numbers.js';
import { t } from './words.js';

// A readable name: of a test that is one for each product with the product, of one that an earlier
// job owes with that job's procedure. Ids may have dots of their own.
export function testTitle(ctx, id) {
  const here = ctx.equipment?.positions.find((p) => p.position === ctx.position);
  const product = here?.products.find((p) => id.endsWith(`.${p}`));
  if (product)
    return t('test.of', { test: id.slice(0, -product.length - 1), what: product });
  const owed = ctx.equipment?.procedures.find((p) => id.startsWith(`${p.procedure}.`));
  if (owed) return t('test.of', { test: id.slice(owed.procedure.length + 1), what: owed.title });
  return id;
}

// Borderline runs that still wait for the next: {run, of, next, mean}, else null.
export function waitingRuns({ runs, pass, void: over, value }) {
  if (!runs || over || (pass !== null && pass !== undefined) || runs.run >= runs.of) return null;
  const mean = value === null || value === undefined ? '' : shown(value);
  return { run: runs.run, of: runs.of, next: runs.run + 1, mean };
}

export const recordOf = (ctx, id) => ctx.job?.tests.find((x) => x.test === id);
