// A dead sensor on the phone page: who waits for what, the supervisor's form, the two who look, and what the
// page says that it rests on.
import assert from 'node:assert/strict';
import { Phone } from './harness/phone.mjs';
import { Repair } from './harness/repair.mjs';
import { tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const plain = { tweak: tokens, maxAge: 30 };

async function dead(w, sensor) {
  w.hw.mute(sensor);
  await w.hw.send(`signal/${sensor}`, { state: 'isolated', quality: 'bad' });
  await w.point(sensor, 'unknown', 'bad-quality');
}

scenario('a sensor out of order, from the crew to the supervisor and back', plain, async (w) => {
  const job = await new Repair(w).to('open');
  await job.ask('join-job', {}, 't-105');
  await w.hw.set('3-product', 'isolated');
  await dead(w, '3-power');
  const leader = await Phone.open(w);
  const other = await Phone.open(w, { person: 't-105' });
  const supervisor = await Phone.open(w, { person: 's-1' });
  await leader.waits('Point 3-power is not heard: its sensor is mended, or a supervisor says');
  await supervisor.offers('Sensor 3-power is OUT OF ORDER');
  await supervisor.next('Sensor 3-power is OUT OF ORDER');
  await supervisor.shot('out-of-order');
  await supervisor.fill({ 'For how long': '2', Reason: 'it sticks' });
  for (const phone of [leader, supervisor])
    await phone.page
      .locator('#points', { hasText: 'Sensor 3-power is OUT OF ORDER, says Person s-1, until' })
      .waitFor();
  await leader.next('I looked: Point 3-power is ISOLATED');
  await leader.waits('one of the crew must look');
  await other.next('I looked: Point 3-power is ISOLATED');
  await w.point('3-power', 'isolated', 'witnessed');
  await leader.page.locator('#points', { hasText: 'said by a person who looked' }).waitFor();
  await leader.page.locator('#points', { hasText: /good for (4 h|3 h)/ }).waitFor();
  await leader.page
    .locator('#verdict .caution', { hasText: 'OUT OF ORDER: 3-power. People looked in its place.' })
    .waitFor();
  await leader.next('My lock and tag hang on Point 3-power');
  // It is in order again: its own word counts.
  await w.hw.set('3-power', 'isolated');
  await supervisor.row('points', 'Sensor 3-power is in order again').click();
  await w.point('3-power', 'isolated', 'fresh');
  await w.seen.doc('point/3-power', (d) => d.distrusted.length === 0);
  for (const phone of [leader, other, supervisor]) {
    phone.sound();
    await phone.close();
  }
});

scenario('in Spanish, and what only the broker kept', { ...plain, hardware: false }, async (w) => {
  await w.hw.set('9-fence', 'live');
  await w.hw.send('signal/3-product', { state: 'live' }, { retain: true });
  await w.stopDaemon();
  await w.startDaemon();
  await w.point('3-product', 'live', 'kept');
  await new Repair(w).to('open');
  await w.ok('s-1', 'distrust-sensor', { sensor: '3-power', hours: 1, reason: 'se atasca' });
  const phone = await Phone.open(w, { locale: 'es' });
  await phone.page
    .locator('#points', { hasText: 'El sensor 3-power está AVERIADO, dice Person s-1, hasta' })
    .waitFor();
  await phone.page
    .locator('#points', { hasText: 'solo lo dice lo que el bróker guardó' })
    .waitFor();
  assert.match(await phone.page.locator('#verdict .caution').first().innerText(), /AVERIADO: 3-power/);
  phone.sound();
  await phone.close();
});
