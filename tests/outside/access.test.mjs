// The shipped broker's configuration and access rules, tried as each account: what it needs is allowed, every
// other topic is refused, and nobody comes in without a name.
import assert from 'node:assert/strict';
import { mkdtempSync, readFileSync, rmSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import test from 'node:test';
import { end } from './harness/child.mjs';
import { connect } from './harness/observer.mjs';
import { Secure } from './harness/secure.mjs';
import { accountsOf, shipped, ShippedBroker } from './harness/shipped.mjs';
import { until } from './harness/until.mjs';

const S = 'forelock/juniper';
// One topic of every kind, and neighbors that nobody has.
const TOPICS = [
  'forelock/daemon/edge-1',
  'forelock/daemon/edge-2',
  'forelock/daemon/edge-1/pulse/durable',
  'forelock/daemon/edge-1/pulse/live',
  'forelock/daemon/edge-2/pulse/live',
  `${S}/signal/_pulse`,
  `${S}/tagging/_pulse`,
  `${S}/request/_pulse/_pulse`,
  `${S}/position/3A`,
  `${S}/job/J-1`,
  `${S}/point/3-power`,
  `${S}/alarm/a-1`,
  `${S}/event`,
  `${S}/signal/3-power`,
  `${S}/signal/9-power`,
  `${S}/tagging/3-power`,
  `${S}/controller/panel-1`,
  `${S}/controller/panel-2`,
  `${S}/measure/3-regular-psi`,
  `${S}/measure/9-regular-psi`,
  ...['t-104', 't-105', 'tracker-1', 'juniper-panel-1', 'juniper-readers', 'forelock'].flatMap(
    (p) => [`${S}/request/${p}/start-work`, `${S}/reply/${p}`, `${S}/reply/${p}/7`],
  ),
  'forelock/elsewhere/signal/3-power',
  'forelock/elsewhere/request/t-104/start-work',
  'forelock/elsewhere/position/3A',
  'plant/juniper/panel/3/status',
  '$SYS/broker/version',
];

const documents = ['position/3A', 'job/J-1', 'point/3-power', 'alarm/a-1'].map((t) => `${S}/${t}`);
const all = (start) => TOPICS.filter((t) => t.startsWith(start));
const own = (p) => [`${S}/reply/${p}`, `${S}/reply/${p}/7`];
const pulses = ['durable', 'live'].map((c) => `forelock/daemon/edge-1/pulse/${c}`);
const daemons = all('forelock/daemon/').filter((t) => !t.includes('/pulse/'));
// What the daemon says to itself.
const words = [
  ...pulses,
  ...['signal/_pulse', 'tagging/_pulse', 'request/_pulse/_pulse'].map((t) => `${S}/${t}`),
];

// What each account may, in this test's own words.
const MAY = {
  forelock: {
    write: [
      'forelock/daemon/edge-1',
      ...words,
      ...documents,
      `${S}/event`,
      ...all(`${S}/reply/`),
    ],
    read: [
      ...daemons,
      ...pulses,
      ...documents,
      ...all(`${S}/request/`),
      ...['signal', 'tagging', 'controller', 'measure'].flatMap((k) => all(`${S}/${k}/`)),
      ...own('forelock'),
    ],
    // The pattern holds for every login, the daemon's too. It is trusted with more than that.
    also: [`${S}/request/forelock/start-work`],
  },
  'juniper-panel-1': {
    write: [`${S}/signal/3-power`, `${S}/controller/panel-1`, `${S}/measure/3-regular-psi`],
    read: [],
  },
  'juniper-readers': { write: all(`${S}/tagging/`), read: [] },
  't-104': {
    write: [`${S}/request/t-104/start-work`],
    read: [...documents, ...own('t-104')],
  },
  'tracker-1': {
    write: [`${S}/request/tracker-1/start-work`],
    read: [...daemons, ...documents, `${S}/event`, ...own('tracker-1')],
  },
  'region-bridge': {
    write: all(`${S}/request/`),
    read: [...daemons, ...documents, `${S}/event`, ...all(`${S}/reply/`)],
  },
};

async function mayWrite(client, topic) {
  try {
    await client.publishAsync(topic, 'try', { qos: 1 });
    return true;
  } catch (error) {
    assert.match(`${error.code ?? ''} ${error.message}`, /135|not authorized/i);
    return false;
  }
}

// The broker, and a login that the test adds to its rules to fill every topic.
async function world(body) {
  const dir = mkdtempSync(join(tmpdir(), 'forelock-outside-'));
  const secure = await new Secure(dir).make();
  const broker = new ShippedBroker(secure, {
    people: ['t-105', 'filler'],
    extra: '\nuser filler\ntopic write #\n',
  });
  const clients = [];
  const login = async (...args) => {
    const client = await broker.login(...args);
    clients.push(client);
    return client;
  };
  try {
    await broker.start();
    await body({ broker, login, clients });
  } finally {
    await Promise.all(clients.map((client) => client.endAsync(true)));
    await broker.stop();
    rmSync(dir, { recursive: true, force: true });
  }
}

test('every account of the shipped rules is tried here', () => {
  assert.deepEqual(accountsOf(shipped('forelock.acl')).sort(), Object.keys(MAY).sort());
});

test('each account writes what it needs, and nothing else', async () => {
  await world(async ({ login }) => {
    for (const [account, may] of Object.entries(MAY)) {
      const client = await login(account);
      for (const topic of TOPICS) {
        const wanted = may.write.includes(topic) || (may.also ?? []).includes(topic);
        assert.equal(await mayWrite(client, topic), wanted, `${account} writing ${topic}`);
      }
    }
    // A login without a block of its own has the patterns, and no more.
    const other = await login('t-105');
    for (const topic of TOPICS)
      assert.equal(
        await mayWrite(other, topic),
        topic === `${S}/request/t-105/start-work`,
        `t-105 writing ${topic}`,
      );
  });
});

test('each account hears what it needs, and nothing else', async () => {
  await world(async ({ login }) => {
    const heard = new Map();
    for (const account of [...Object.keys(MAY), 't-105']) {
      const client = await login(account);
      heard.set(account, { client, topics: new Set() });
      client.on('message', (topic) => heard.get(account).topics.add(topic));
      // Both widely and by name: neither opens anything.
      await client.subscribeAsync(['#', '$SYS/broker/version', ...TOPICS], { qos: 1 });
    }
    const filler = await login('filler');
    for (const topic of TOPICS.filter((t) => !t.startsWith('$')))
      await filler.publishAsync(topic, 'try', { qos: 1 });
    for (const [account, { client, topics }] of heard) {
      // What was on its way to it has come before this answer.
      await client.unsubscribeAsync('nothing');
      const wanted = [...(MAY[account]?.read ?? own(account))].sort();
      await until(
        () => topics.size >= wanted.length,
        () => `${account} to hear ${wanted}; it heard ${[...topics]}`,
      );
      assert.deepEqual([...topics].sort(), wanted, `${account} hears`);
    }
  });
});

test('nobody comes in without a name or with a wrong password', async () => {
  await world(async ({ broker, clients }) => {
    const refused = async (options) => {
      const client = connect(broker.port, { reconnectPeriod: 0, ...options });
      clients.push(client);
      let error;
      client.on('error', (e) => (error = e));
      await until(() => error || client.connected, 'an answer to the login');
      return !client.connected && /not authorized|refused|135|134/i.test(error.message);
    };
    assert.ok(await refused({}), 'anonymous');
    assert.ok(await refused({ username: 't-104', password: 'guessed' }), 'wrong password');
    assert.ok(await refused({ username: 'nobody', password: 'x' }), 'unknown');
  });
});

test('a login has one connection: who comes second under its name takes it over', async () => {
  await world(async ({ login }) => {
    const first = await login('t-104', { reconnectPeriod: 0, clientId: 'one' });
    let ended = false;
    first.on('close', () => (ended = true));
    const second = await login('t-104', { clientId: 'another' });
    await until(() => ended, 'the first to be taken over by its own name');
    assert.ok(second.connected);
  });
});

test('a document and an answer that waits outlive a broker that is killed', async () => {
  await world(async ({ broker, login }) => {
    const daemon = await login('forelock');
    const sleeper = { clean: false, properties: { sessionExpiryInterval: 3600 } };
    const phone = await login('t-104', sleeper);
    await phone.subscribeAsync([`${S}/reply/t-104`, `${S}/position/3A`], { qos: 1 });
    await phone.endAsync();
    await daemon.publishAsync(`${S}/position/3A`, 'a document', { qos: 1, retain: true });
    await daemon.publishAsync(`${S}/reply/t-104`, 'an answer', { qos: 1 });
    await daemon.endAsync();
    const saved = () => readFileSync(join(broker.dir, 'kept', 'mosquitto.db'));
    await until(() => saved().includes('an answer') && saved().includes('a document'), 'a save', {
      timeout: 20000,
    });
    await end(broker.child, 'SIGKILL');
    await broker.start();
    const heard = [];
    await login('t-104', { ...sleeper, onMessage: (_, payload) => heard.push(`${payload}`) });
    await until(() => heard.includes('an answer') && heard.includes('a document'), 'both');
  });
});
