// R30: a point that no procedure would lock out, and one that leaves part of a cabinet live, are errors.
import assert from 'node:assert/strict';
import test from 'node:test';
import { checked, refused } from './harness/checked.mjs';
import { pointOf } from './harness/site.mjs';

test('a misspelled energy takes the valve out of no gate in silence', async () => {
  await refused(
    (p) => (pointOf(p, '3-product').energy = 'products'),
    '/points/1/energy',
    /no procedure isolates the energy "products".*the nearest that one isolates is "product"/,
  );
});

test('an energy that the district isolates is isolated', async () => {
  const { code, text } = await checked((p) => {
    pointOf(p, '3-vapor').energy = 'nitrogen';
    p.districts['north-basin'].adds = { boot: { isolate: ['nitrogen'] } };
  });
  assert.equal(code, 0, text);
});

test('a breaker of one side of a cabinet leaves its other conductors live', async () => {
  await refused(
    (p) => (pointOf(p, '3-power').isolates = ['3A']),
    '/points/0',
    /isolates dispenser "3" and not its position "3B".*other conductors stay live/,
  );
});

test('a valve of one side does not', async () => {
  const { code, text } = await checked((p) => (pointOf(p, '3-product').isolates = ['3A']));
  assert.equal(code, 0, text);
});
