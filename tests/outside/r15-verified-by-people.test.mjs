// R15: at least one verify check of a procedure is a person's, and no measure proves the absence of voltage.
import assert from 'node:assert/strict';
import test from 'node:test';
import { checked, refused } from './harness/checked.mjs';

const measured = { unit: 'psi', max: 2, measure: 'line-pressure' };

test('measures that answer every verify check are an error', async () => {
  await refused(
    (p) => Object.assign(p.procedures.boot.verify[0], measured),
    '/verify',
    /at least one is a person's/,
  );
});

test('one beside a person is none', async () => {
  const { code, text } = await checked((p) =>
    p.procedures.boot.verify.push({ check: 'no-pressure', ask: 'No pressure', ...measured }),
  );
  assert.equal(code, 0, text);
});

test('a measure for a check in V is an error', async () => {
  await refused(
    (p) => (p.procedures['spout-and-boot'].verify[1].measure = 'voltage'),
    '/verify/1/measure',
    /no measure answers a check in V/,
  );
});

test('what a district adds may not take the last one away', async () => {
  await refused(
    (p) => {
      p.procedures.boot.verify[0].unit = 'psi';
      p.districts['north-basin'].adds = { boot: { verify: [{ check: 'no-flow', ...measured }] } };
    },
    '/adds/boot/verify',
    /at least one is a person's/,
  );
});
