// A site's broker joined to a regional one by the shipped bridge: documents, events and answers go up, requests
// come down in the name that the region knows, and the site goes on while the uplink is cut.
import assert from 'node:assert/strict';
import { mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import test from 'node:test';
import { end, start } from './harness/child.mjs';
import { now } from './harness/observer.mjs';
import { Secure } from './harness/secure.mjs';
import { secretOf, shipped, ShippedBroker } from './harness/shipped.mjs';
import { plan, write } from './harness/site.mjs';
import { until } from './harness/until.mjs';
import { DAEMON } from './harness/world.mjs';

// The shipped bridge, to a region of ours.
function bridge(secure, region) {
  const ours = [
    [/^address .*$/m, `address 127.0.0.1:${region.tls}`],
    [/^bridge_cafile .*$/m, `bridge_cafile ${join(secure.dir, 'authority.crt')}`],
    [/^remote_password .*$/m, `remote_password ${secretOf('juniper')}`],
    [/^restart_timeout .*$/m, 'restart_timeout 1 2'],
  ];
  return ours.reduce((text, [line, by]) => {
    assert.match(text, line);
    return text.replace(line, by);
  }, shipped('bridge.conf'));
}

// A login that keeps what it hears on topics.
async function sit(broker, name, topics) {
  const heard = [];
  const client = await broker.login(name, {
    clean: false, // what is said while it is away waits for it
    properties: { sessionExpiryInterval: 3600 },
    onMessage: (topic, payload) => heard.push({ topic, body: `${payload}` }),
  });
  await client.subscribeAsync(topics, { qos: 1 });
  const last = (topic) => heard.findLast((m) => m.topic === `forelock/${topic}`)?.body;
  return { client, heard, last };
}

function ask(login, person, verb, body) {
  return login.client.publishAsync(
    `forelock/juniper/request/${person}/${verb}`,
    JSON.stringify(now(body)),
    { qos: 1, properties: { messageExpiryInterval: 30 } },
  );
}

// The daemon on the site's broker, under its own login.
function startDaemon(dir, edge) {
  const site = plan({});
  site.people.push(
    { person: 'tracker-1', roles: ['tracker'], sites: ['*'] },
    { person: 'v-401', roles: ['viewer'], sites: ['*'] },
  );
  Object.assign(site.main.broker, {
    port: edge.port,
    username: 'forelock',
    password_file: 'edge.secret',
  });
  writeFileSync(join(dir, 'edge.secret'), secretOf('forelock'), { mode: 0o600 });
  return start(DAEMON, ['-c', write(dir, site)], { cwd: dir });
}

async function story(region, edge, enter) {
  const looking = await enter(region, 'v-401', ['forelock/#']);
  await until(() => looking.last('daemon/edge-1')?.includes('"online"'), 'the daemon above');
  await until(() => looking.last('juniper/position/3A'), 'a document above');

  // A request from the region is answered there.
  const tracker = await enter(region, 'tracker-1', [
    'forelock/juniper/event',
    'forelock/juniper/reply/tracker-1',
  ]);
  const opening = { job: 'J-9', position: '3A', procedure: 'spout-and-boot' };
  await ask(tracker, 'tracker-1', 'open-job', { id: 'from-the-region', ...opening });
  await until(() => tracker.last('juniper/reply/tracker-1'), 'the answer');
  const answer = JSON.parse(tracker.last('juniper/reply/tracker-1'));
  assert.deepEqual([answer.id, answer.accepted], ['from-the-region', true]);
  await until(() => looking.last('juniper/job/J-9'), 'the job above');
  const told = (type) =>
    tracker.heard.some((m) => m.topic.endsWith('/event') && JSON.parse(m.body).type === type);
  await until(() => told('forelock.job.opened'), 'the event above');

  // In another's name it is refused there, and hardware is not heard from there.
  for (const topic of ['request/m-301/cancel-job', 'signal/3-power', 'controller/panel-1'])
    await assert.rejects(
      tracker.client.publishAsync(`forelock/juniper/${topic}`, '{}', { qos: 1 }),
      topic,
    );

  // With the uplink cut the site's own people are answered as before; above, it is seen afterwards.
  await region.stop();
  const near = await enter(edge, 'tracker-1', ['forelock/juniper/reply/tracker-1']);
  await ask(near, 'tracker-1', 'cancel-job', { id: 'near', job: 'J-9', reason: 'not needed' });
  await until(() => near.last('juniper/reply/tracker-1')?.includes('"near"'), 'the answer here');
  assert.equal(JSON.parse(near.last('juniper/reply/tracker-1')).accepted, true);
  await region.start();
  await until(() => told('forelock.job.cancelled'), 'what happened meanwhile', { timeout: 30000 });
  await until(() => looking.last('juniper/job/J-9')?.includes('"cancelled"'), 'the document');
}

test('the region sees the site, asks in its own name, and the site goes on without it', async () => {
  const dir = mkdtempSync(join(tmpdir(), 'forelock-outside-'));
  const secure = await new Secure(dir).make();
  const region = new ShippedBroker(secure, { rules: 'region.acl' });
  const clients = [];
  const ends = [];
  try {
    await region.start();
    const edge = await new ShippedBroker(secure, { more: bridge(secure, region) }).start();
    ends.push(() => edge.stop());
    const daemon = startDaemon(dir, edge);
    ends.push(() => end(daemon));
    const enter = async (...args) => {
      const one = await sit(...args);
      clients.push(one.client);
      return one;
    };
    await story(region, edge, enter);
    assert.equal((await end(daemon)).code, 0, daemon.err);
  } finally {
    await Promise.all(clients.map((client) => client.endAsync(true)));
    for (const stop of ends.reverse()) await stop();
    await region.stop();
    rmSync(dir, { recursive: true, force: true });
  }
});
