// R38, R19: a restart with the clock behind makes no lock hang for twelve hours that was hung a moment ago.
import assert from 'node:assert/strict';
import { Repair } from './harness/repair.mjs';
import { scenario } from './harness/world.mjs';

for (const behind of [20, 3600])
  scenario(`a clock ${behind} s behind at a restart`, { clock: true }, async (w) => {
    await new Repair(w).to('tagged');
    await w.killDaemon();
    w.clock.set('ahead', -behind * 1000);
    await w.startDaemon();
    await w.seen.alarm('clock', (a) => a.subject === 'daemon');
    await w.fence();
    assert.deepEqual(w.seen.alarms('tag-left'), []);
  });
