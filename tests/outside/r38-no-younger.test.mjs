// R38: nothing grows younger by a restart. Ages, periods and timers go on from the last instant that the journal
// knows, whatever wrote it, and what would have raised an alarm without the restart does so after it.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { pointOf } from './harness/site.mjs';
import { delay, until } from './harness/until.mjs';
import { tokens, Web } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const WORD_S = 6;

scenario(
  'a word good for six seconds ends after six, killed at four',
  { tweak: (p) => (pointOf(p, '4-product').witness_valid_s = WORD_S) },
  async (w) => {
    const job = await new Repair(w, { position: '4A' }).to('open');
    await job.isolate();
    const said = Date.parse((await w.seen.event('point.witnessed')).time);
    job.at = 'isolated';
    await job.to('working');
    await until(() => Date.now() - said > (WORD_S - 2) * 1000, 'four seconds to go by');
    await w.killDaemon();
    await w.startDaemon();
    await job.phase('stopped', 'broken');
    const { raised, point } = await job.alarm();
    assert.equal(point, '4-product');
    const after = Date.parse(raised) - said; // both rounded to a millisecond
    assert.ok(
      after >= WORD_S * 1000 - 1 && after < WORD_S * 1000 + 700,
      `work went on for ${after} ms by a word of ${WORD_S} s`,
    );
  },
);

// The machine's time goes on while one sensor is heard and nothing else happens: nothing is written but that.
async function quiet(w, minutes) {
  w.hw.muteAllBut('4-power');
  const web = new Web(w);
  const heard = async () => Date.parse((await web.get('/api/juniper/point/4-power')).heard);
  const begun = await heard();
  for (let gone = 4; gone <= minutes; gone += 4) {
    w.clock.set('slept', w.clock.ms.slept + 4 * 60000);
    await until(async () => {
      await w.hw.set('4-power', 'isolated');
      return (await heard()) > begun + gone * 60000;
    }, 'the point to be heard');
  }
}

const signed = (d, check) => d.checks.find((c) => c.check === check);

scenario(
  'a word and a signature of an hour are as old after a quiet shift and a restart',
  {
    clock: true,
    maxAge: 300,
    tweak: (p) => {
      tokens(p);
      pointOf(p, '4-product').witness_valid_s = 3600;
      p.procedures['spout-and-boot'].prepare[0].valid_s = 3600;
    },
  },
  async (w) => {
    const job = await new Repair(w, { position: '4A', procedure: 'spout-and-boot' }).to(
      'confirmed',
    );
    await quiet(w, 56);
    await job.phase('open', 'confirmed');
    // Each second it is written that the points were heard, and so is the time.
    await delay(1500);
    await w.killDaemon();
    await w.startDaemon();
    await w.point('4-product', 'isolated', 'witnessed');
    w.clock.set('slept', w.clock.ms.slept + 280000);
    await w.point('4-product', 'unknown', 'stale');
    await job.no('start-work', {}, ['check-void', 'point-stale']);
    const { checks } = await job.doc((d) => signed(d, 'barricade').void !== false);
    assert.notEqual(signed({ checks }, 'barricade').void, false);
  },
);

scenario(
  'stopped: a point that is not heard again raises the alarm that was seen',
  { maxAge: 2 },
  async (w) => {
    const job = await new Repair(w).to('working');
    await w.hw.set('3-power', 'live');
    await job.phase('stopped', 'broken');
    await w.hw.set('3-power', 'isolated');
    await w.point('3-power', 'isolated', 'fresh');
    await job.acknowledge();
    const { count } = await job.alarm((a) => a.state === 'acknowledged');
    // It is isolated and not locked: no lockout stands, and people may be in the cabinet.
    await w.killDaemon();
    w.hw.mute('3-product');
    await w.startDaemon();
    const again = await job.alarm((a) => a.state === 'unacknowledged');
    assert.equal(again.point, '3-product');
    assert.ok(again.count > count);
  },
);

scenario(
  'a clock more than a second behind breaks what was not proved yet',
  { clock: true, maxAge: 30 },
  async (w) => {
    const job = await new Repair(w).to('working');
    await w.killDaemon();
    w.clock.set('ahead', -3000);
    await w.startDaemon();
    await job.phase('stopped', 'broken');
    await job.alarm();
  },
);
