// R26: an earlier time is a corrected clock's, and taken once the sensor is stale or its controller has come
// online again.
import assert from 'node:assert/strict';
import { scenario } from './harness/world.mjs';

const at = (ms) => new Date(ms).toISOString();
// As far ahead as a clock may be: until then, what it says once it was put right is dated earlier.
const AHEAD = 4500;

// Says isolated with the time of so long ago, again and again, while the body goes on.
async function right(w, sensor, behind, body) {
  const timer = setInterval(
    () => w.hw.send(`signal/${sensor}`, { state: 'isolated', at: at(Date.now() - behind) }),
    100,
  );
  await body().finally(() => clearInterval(timer));
}

scenario('once the sensor is stale', { hardware: false, maxAge: 2 }, async (w) => {
  await w.hw.set('9-fence', 'live');
  const ahead = Date.now() + AHEAD;
  await w.hw.send('signal/3-product', { state: 'isolated', at: at(ahead) });
  await w.point('3-product', 'isolated');
  const behind = 1000;
  await right(w, '3-product', behind, async () => {
    await w.point('3-product', 'unknown', 'stale');
    await w.point('3-product', 'isolated', 'fresh');
    assert.ok(Date.now() - behind < ahead, 'it waited until the clock had passed where it was');
  });
});

scenario('once its controller came online again', { hardware: false, maxAge: 30 }, async (w) => {
  await w.hw.controller('panel-1', 'online');
  const ahead = Date.now() + AHEAD;
  await w.hw.send('signal/3-power', { state: 'isolated', at: at(ahead) });
  await w.point('3-power', 'isolated', 'fresh');
  await w.hw.controller('panel-1', 'offline');
  await w.point('3-power', 'unknown', 'controller-offline');
  await w.hw.controller('panel-1', 'online');
  await w.point('3-power', 'unknown', 'silent');
  const behind = 15000;
  await right(w, '3-power', behind, async () => {
    await w.point('3-power', 'isolated', 'fresh');
    assert.ok(Date.now() - behind < ahead, 'it waited until the clock had passed where it was');
  });
});

// The age of what is taken still counts from its time.
scenario('a word that is too old stays so', { hardware: false, maxAge: 1 }, async (w) => {
  await w.hw.set('9-fence', 'live');
  await w.hw.send('signal/3-product', { state: 'isolated', at: at(Date.now()) });
  await w.point('3-product', 'isolated');
  await w.point('3-product', 'unknown', 'stale');
  await w.hw.send('signal/3-product', { state: 'isolated', at: at(Date.now() - 60000) });
  await w.fence();
  const { state, trust } = await w.seen.doc('point/3-product');
  assert.deepEqual([state, trust], ['unknown', 'stale']);
});
