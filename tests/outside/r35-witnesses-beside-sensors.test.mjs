// R35: a word on witnesses never silences a point's own sensor; that it has none must be said.
import assert from 'node:assert/strict';
import test from 'node:test';
import { checked, refused } from './harness/checked.mjs';
import { pointOf } from './harness/site.mjs';

test('witnesses without an empty list of sensors are an error', async () => {
  await refused(
    (p) => {
      delete pointOf(p, '4-product').sensors;
      delete pointOf(p, '4-product').witness_valid_s;
    },
    '/points/4/witnesses',
    /say "sensors": \[\] beside it/,
  );
});

test('so is how long their words stand', async () => {
  await refused(
    (p) => (pointOf(p, '3-vapor').witness_valid_s = 600),
    '/points/2/witness_valid_s',
    /say "sensors": \[\] beside it/,
  );
});

test('with the list they are good', async () => {
  const { code, text } = await checked((p) => (pointOf(p, '4-product').witnesses = 2));
  assert.equal(code, 0, text);
});
