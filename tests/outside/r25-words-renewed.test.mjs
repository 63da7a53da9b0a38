// R25: a word may be renewed while it stands, and that it ages is told in time.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { pointOf } from './harness/site.mjs';
import { scenario } from './harness/world.mjs';

const VALID_S = 4;
const short = {
  maxAge: 30,
  tweak: (p) => (pointOf(p, '4-product').witness_valid_s = VALID_S),
};

scenario('renewed when that is told, the work goes on', short, async (w) => {
  const job = await new Repair(w, { position: '4A' }).to('working');
  const started = Date.now();
  for (let told = 0; told < 2; told++) {
    const since = w.seen.mark();
    const { data } = await w.seen.event('point.ageing', { since });
    assert.equal(data.point, '4-product');
    assert.equal(data.person, 't-104');
    assert.equal(data.state, 'isolated');
    const left = Date.parse(data.until) - Date.parse(data.at);
    assert.ok(left > 0 && left <= VALID_S * 200 + 1, `told with ${left} ms left`);
    await job.ask('witness-point', { point: '4-product', state: 'isolated' });
  }
  await w.seen.event('point.ageing', { since: w.seen.mark() });
  assert.ok(Date.now() - started > VALID_S * 2000, 'the word was not renewed');
  assert.equal((await job.doc()).phase, 'working');
  // Nobody renews it this time.
  await job.phase('stopped', 'broken');
  assert.equal(w.seen.events('point.ageing').length, 3);
});
