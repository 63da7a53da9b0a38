// The daemon on a broker with TLS, passwords and the shipped access rules, and what it says to a broker
// that it cannot trust or that does not know it.
import assert from 'node:assert/strict';
import { readFileSync } from 'node:fs';
import { join } from 'node:path';
import { end, start } from './harness/child.mjs';
import { connect } from './harness/observer.mjs';
import { Repair } from './harness/repair.mjs';
import { write } from './harness/site.mjs';
import { until } from './harness/until.mjs';
import { DAEMON, scenario } from './harness/world.mjs';

// A person's own client, logged in.
async function login(w, person) {
  const client = connect(w.secure.port, {
    protocol: 'mqtts',
    ca: readFileSync(join(w.secure.dir, 'authority.crt')),
    username: person,
    password: `secret of ${person}`,
  });
  client.on('error', () => {});
  await until(() => client.connected, `${person} to log in`);
  return client;
}

scenario(
  'a whole repair over TLS, within the shipped access rules',
  { secure: true },
  async (w) => {
    const job = await new Repair(w).to('working');
    await w.hw.set('3-power', 'live');
    await job.phase('stopped', 'broken');
    const alarm = await job.alarm();
    await job.proveAgain();
    await job.acknowledge();
    await w.seen.gone(`alarm/${alarm.alarm}`);
    await job.ask('start-work');
    job.at = 'working';
    await job.to('returned');
    await w.position('3A', (d) => d.service === 'in-service');
    assert.match(w.daemon.err, /link: connection=live up/);
    assert.doesNotMatch(w.daemon.err, /not authori[sz]ed/i);
  },
);

scenario('a login asks in its own name alone', { secure: true }, async (w) => {
  const job = await new Repair(w).to('confirmed');
  const other = await login(w, 't-105');
  const since = w.seen.mark();
  const request = (person, id) =>
    other
      .publishAsync(
        `forelock/juniper/request/${person}/start-work`,
        JSON.stringify({ id, job: 'J-1' }),
        { qos: 1 },
      )
      .catch(() => {});
  await request('t-104', 'in-another-name');
  await request('t-105', 'in-its-own-name');
  const answers = () =>
    w.seen.log.filter((e) => e.n >= since && e.below.includes('/reply/')).map((e) => e.body.id);
  await w.seen.wait(() => answers().includes('in-its-own-name'), 'the answer');
  await other.endAsync(true);
  assert.deepEqual(answers(), ['in-its-own-name']);
  assert.equal((await job.doc()).phase, 'open');
});

for (const [name, broker, said] of [
  [
    'does not know its password',
    { password_file: 'secure/wrong.secret' },
    /link: .*(not authori[sz]ed|refused|password)/i,
  ],
  [
    'is vouched for by a stranger',
    { ca_file: 'secure/stranger.crt' },
    /link: .*(certificate|TLS)/i,
  ],
])
  scenario(`a broker that ${name}`, { secure: true, daemon: false }, async (w) => {
    Object.assign(w.plan.main.broker, broker);
    const handle = start(DAEMON, ['-c', write(w.dir, w.plan)], { cwd: w.dir });
    await until(
      () => said.test(handle.err),
      () => `${said} in: ${handle.err}`,
    );
    // It goes on trying, says nothing of the secret, and ends when it is told to.
    assert.equal(handle.status, null);
    assert.doesNotMatch(handle.err, /sesame/);
    assert.ok(!w.seen.docs.has('daemon/edge-1'));
    assert.deepEqual(await end(handle), { code: 0, signal: null }, handle.err);
  });
