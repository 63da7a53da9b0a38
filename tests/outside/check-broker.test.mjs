// `forelock check --broker`: what it says of the shipped broker, of one that is too open, of one that lacks
// what the daemon needs, and of none.
import assert from 'node:assert/strict';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import test from 'node:test';
import { freePort } from './harness/broker.mjs';
import { run } from './harness/child.mjs';
import { Secure } from './harness/secure.mjs';
import { secretOf, ShippedBroker } from './harness/shipped.mjs';
import { plan, write } from './harness/site.mjs';
import { scenario, TOOL } from './harness/world.mjs';

async function checked(file, ...args) {
  const { code, out, err } = await run(TOOL, ['check', '--broker', '-c', file, ...args], {
    timeout: 60000,
  });
  return { code, out, err };
}

// The shipped broker, changed by `options`, and a configuration that uses it as the daemon does.
async function withShipped(options, body) {
  const dir = mkdtempSync(join(tmpdir(), 'forelock-outside-'));
  const broker = new ShippedBroker(await new Secure(dir).make(), options);
  try {
    await broker.start();
    const site = plan({});
    const login = { username: 'forelock', password_file: 'daemon.secret' };
    Object.assign(site.main.broker, { port: broker.port, ...login });
    writeFileSync(join(dir, 'daemon.secret'), secretOf('forelock'), { mode: 0o600 });
    await body(write(dir, site), broker);
  } finally {
    await broker.stop();
    rmSync(dir, { recursive: true, force: true });
  }
}

const of = (findings, verdict) => findings.filter((f) => f.verdict === verdict);

test('the shipped broker is as the daemon needs it', async () => {
  await withShipped({}, async (file) => {
    const plain = await checked(file);
    assert.equal(plain.code, 0, plain.out + plain.err);
    assert.match(plain.out, /set up as the daemon needs it/);
    const json = JSON.parse((await checked(file, '--json')).out);
    assert.equal(json.ok, true);
    assert.deepEqual([...new Set(json.findings.map((f) => f.verdict))], ['good']);
    for (const what of [/login$/, /64 KiB/, /sessions/, /retained/, /will/, /no hardware/, /pulses/, /hears what/])
      assert.ok(
        json.findings.some((f) => what.test(f.say)),
        `${what}: ${plain.out}`,
      );
  });
});

test('what the access rules lack or give away is named', async () => {
  const extra =
    '\nuser forelock\ntopic deny forelock/juniper/alarm/+\ntopic write forelock/juniper/signal/#\n';
  await withShipped({ extra }, async (file) => {
    const { code, out } = await checked(file, '--json');
    const { findings } = JSON.parse(out);
    assert.equal(code, 1);
    assert.deepEqual(
      of(findings, 'missing').map((f) => f.subject.replace(/[^/]*$/, '')),
      ['forelock/juniper/alarm/'],
    );
    assert.deepEqual(
      of(findings, 'too open').map((f) => f.subject.replace(/[^/]*$/, '')),
      ['forelock/juniper/signal/'],
    );
  });
});

test('what the daemon says to itself and does not hear is named', async () => {
  const extra = [
    '',
    'user forelock',
    'topic deny forelock/juniper/tagging/_pulse',
    'topic deny forelock/daemon/edge-1/pulse/live',
    '',
  ].join('\n');
  await withShipped({ extra }, async (file) => {
    const { code, out } = await checked(file, '--json');
    assert.equal(code, 1);
    assert.deepEqual(
      of(JSON.parse(out).findings, 'missing').map((f) => f.subject),
      ['forelock/daemon/edge-1/pulse/live', 'forelock/juniper/tagging/_pulse'],
    );
  });
});

test('settings that lose what is kept are named', async () => {
  const more = 'retain_available false\nmax_packet_size 2000\n';
  await withShipped({ more }, async (file) => {
    const { code, out } = await checked(file, '--json');
    const missing = of(JSON.parse(out).findings, 'missing').map((f) => f.subject);
    assert.equal(code, 1);
    assert.ok(missing.includes('packet size'), out);
    assert.ok(missing.includes('retain'), out);
  });
});

scenario('a broker without logins is too open', { daemon: false }, async (w) => {
  const { code, out } = await checked(w.file);
  assert.equal(code, 1);
  assert.match(out, /too open +anonymous:/);
  assert.match(out, /too open +forelock\/juniper\/signal\//);
  assert.match(out, /good +juniper: retained documents are kept/);
  // What was tried is gone again.
  assert.deepEqual(
    [...w.seen.docs.keys()].filter((k) => !k.startsWith('daemon/')),
    [],
  );
  w.seen.wrong.length = 0; // it was no document
});

scenario('a daemon that runs is not disturbed by it', {}, async (w) => {
  assert.equal((await checked(w.file)).code, 1);
  await w.position('3A', (d) => d.service === 'in-service');
  await w.ok('k-1', 'open-job', { job: 'J-1', position: '3A', procedure: 'boot' });
  w.seen.wrong.length = 0; // what was tried is no document
});

test('no broker is said, with its address', async () => {
  const dir = mkdtempSync(join(tmpdir(), 'forelock-outside-'));
  try {
    const site = plan({});
    site.main.broker.port = await freePort();
    const { code, out, err } = await checked(write(dir, site));
    assert.equal(code, 4);
    assert.match(out, /the configuration can be used/);
    assert.match(err, new RegExp(`127\\.0\\.0\\.1:${site.main.broker.port}: .*refused`));
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
});
