// A repair in which everything happens that a record has to tell: refused, broken, proved anew, a
// test failed, reworked, tested again and returned. Leaves J-1 returned and its position back.
import { Repair } from './repair.mjs';

export const DEFECT = 'torn boot, <b>"half" &amp; all</b>';

export async function eventfulRepair(w) {
  const repair = new Repair(w, { procedure: 'spout-and-boot' });
  await w.ok('k-1', 'open-job', {
    job: 'J-1',
    position: '3A',
    procedure: 'spout-and-boot',
    technician: 't-104',
    kit_family: 'k2',
    part: 'boot-kit-7',
    defect: DEFECT,
    note: 'seen by a customer',
  });
  repair.at = 'open';
  await repair.no('start-work', {}, ['tag-missing', 'check-missing']);
  await repair.ask('join-job', {}, 't-105');
  await repair.to('isolated');
  await repair.tag();
  await repair.tag('t-105');
  repair.at = 'tagged';
  await repair.to('confirmed');
  await repair.to('working');
  await w.hw.set('3-power', 'live');
  await repair.phase('stopped', 'broken');
  await repair.isolate();
  await repair.tag('t-105');
  await repair.proveAgain();
  await repair.acknowledge();
  await repair.start();
  await repair.signGroup('work');
  await repair.sign('spout-nut', { value: 60 });
  await repair.sign('spout-nut');
  await repair.signGroup('clear');
  await repair.ask('finish-work');
  await repair.phase('restoring');
  await repair.lift('t-105');
  await repair.lift();
  await repair.restore();
  await repair.beginTest();
  await repair.record('leak', { pass: false }, { note: 'drips at the swivel' });
  await repair.no('return-position', {}, ['test-failed']);
  await repair.ask('rework', { reason: 'leak at the swivel' });
  repair.at = 'open';
  await repair.to('isolated');
  await repair.tag();
  await repair.tag('t-105');
  repair.at = 'tagged';
  await repair.to('restoring');
  const absent = { not_on_site: true, contact_tried: true, will_be_told: true };
  for (const point of repair.points)
    await w.ok('s-1', 'lift-absent-tag', {
      job: 'J-1',
      point,
      person: 't-105',
      reason: 'went home ill',
      attest: absent,
    });
  const removed = await w.seen.alarm('absent-lock-removed', (a) => a.count === repair.points.length);
  await w.ok('t-104', 'acknowledge-alarm', { alarm: removed.alarm, raised: removed.raised });
  await repair.lift();
  repair.at = 'lifted';
  await repair.to('testing');
  await repair.record('leak', { pass: true }, { note: 'the swivel was tightened' });
  await repair.to('returned');
  await w.position('3A', (d) => d.service === 'in-service', 'back in service');
  return repair;
}
