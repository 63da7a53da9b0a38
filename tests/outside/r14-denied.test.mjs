// A broker that delivers nothing: by a subscription that it refuses, or that it grants and its rules deny.
import assert from 'node:assert/strict';
import { writeFileSync } from 'node:fs';
import { join } from 'node:path';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

const linkDown = (w, subject) =>
  w.seen.alarm('link-down', (a) => a.subject === subject && a.state === 'unacknowledged');

scenario('a subscription that is refused is link-down, and nothing starts', { proxy: true }, async (w) => {
  const job = await new Repair(w).to('confirmed');
  w.proxy.refused.push('/tagging/+');
  w.proxy.drop('durable');
  await w.seen.wait(() => w.proxy.refusals > 0, 'a subscription to be refused');
  await w.responsive();
  await job.only('start-work', {}, 'link-down');
  const alarm = await linkDown(w, 'juniper/tagging/_pulse');
  assert.equal(alarm.priority, 'high');
  assert.equal(alarm.why, 'link-down');
  assert.match(alarm.say, /juniper\/tagging/);
  // The connection is not ended for it.
  assert.ok(!w.seen.alarms('link-down').some((a) => a.subject === 'durable' && a.state === 'unacknowledged'));
  w.proxy.refused.length = 0;
  const since = w.seen.mark();
  w.proxy.drop('durable');
  await w.seen.alarm(
    'link-down',
    (a) => a.subject === 'juniper/tagging/_pulse' && a.state === 'returned-unacknowledged',
  );
  // What it says to itself comes back before what is asked now: that has not waited.
  const pulses = () => w.seen.log.slice(since).filter((e) => e.below.endsWith('/pulse/durable'));
  await w.seen.wait(() => pulses().length > 1, 'the connection to hear itself');
  await job.ask('start-work');
});

// The broker grants what its rules deny: only the word that does not come back tells.
scenario(
  'a subscription that is granted and denied is link-down',
  {
    before(w) {
      w.acl = join(w.dir, 'acl');
      writeFileSync(w.acl, 'topic readwrite #\n');
    },
    tweak(plan, w) {
      w.broker.more = [...w.broker.more, `acl_file ${w.acl}`];
    },
  },
  async (w) => {
    await w.broker.restart();
    await w.responsive();
    const job = await new Repair(w).to('open');
    writeFileSync(w.acl, 'topic deny forelock/juniper/request/_pulse/_pulse\ntopic readwrite #\n');
    await w.broker.restart();
    await linkDown(w, 'juniper/request/_pulse/_pulse');
    // This broker ends the connection over what it denies; the daemon says that no more, and is back.
    await w.seen.alarm('link-down', (a) => a.subject === 'durable' && a.state === 'returned-unacknowledged');
    await w.responsive();
    await w.no(job.leader, 'start-work', { job: job.job }, 'link-down');
  },
);
