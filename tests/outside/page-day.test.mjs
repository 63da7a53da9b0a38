// The day around a repair on the phone: forms in both languages, the ledger, what hangs here, and the board.
import assert from 'node:assert/strict';
import { openBrowser } from './harness/browser.mjs';
import { Phone } from './harness/phone.mjs';
import { Repair } from './harness/repair.mjs';
import { tokenOf, tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const plain = { tweak: tokens, maxAge: 30 };
const HAND = { width: 390, height: 844 };
const phoneOf = (w, person, more = {}) =>
  Phone.open(w, { person, size: HAND, hasTouch: true, isMobile: true, ...more });
const day = (phone, text) => phone.page.locator('#day', { hasText: text }).waitFor();
// Nothing is wider than the screen, and no button's words are cut off.
async function whole(phone) {
  const cut = await phone.page.evaluate(() =>
    [...document.querySelectorAll('button, h1, p, li, label')]
      .filter((e) => e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== 'inline')
      .map((e) => e.textContent),
  );
  assert.deepEqual(cut, [], 'words that are cut off');
}

scenario('fuel is recorded on the phone, and the return waits for it', plain, async (w) => {
  const job = await new Repair(w).to('passed');
  const phone = await phoneOf(w, 't-104');
  await phone.row('day', 'Record fuel').click();
  await phone.shot('day-fuel');
  await whole(phone);
  await phone.fill({ Product: 'regular', Drawn: '5', 'Returned to the tank': '3.5', 'Which tank': '2' });
  await day(phone, 'drawn 5 gal, returned 3.5 gal, kept 0 gal');
  await day(phone, '1.5 gal NOT ACCOUNTED FOR');
  await phone.row('day', 'Record fuel').click();
  await phone.fill({ Product: 'regular', 'Kept in a container': '1.5' });
  await day(phone, 'accounted for');
  await phone.next('RETURN TO SERVICE');
  await job.phase('returned');
  phone.sound();
  await phone.close();
});

const liters = {
  maxAge: 30,
  tweak(plan) {
    tokens(plan);
    plan.sites.juniper.volume_unit = 'L';
  },
};

scenario('a site that measures in liters is asked for liters, and its record says so', liters, async (w) => {
  const job = await new Repair(w).to('passed');
  const phone = await phoneOf(w, 't-104', { locale: 'es-MX' });
  const form = phone.page.locator('dialog[open]');
  const unit = form.getByLabel('Unidad');
  await phone.row('day', 'Anotar combustible').click();
  await form.waitFor();
  assert.equal(await unit.inputValue(), 'L');
  await form.getByRole('textbox', { name: 'Sacado' }).fill('20');
  await form.getByText('Se entiende: 20 L').first().waitFor();
  await unit.selectOption('gal');
  await form.getByText('Se entiende: 20 gal').first().waitFor();
  await unit.selectOption('L');
  await phone.shot('day-fuel-liters');
  await whole(phone);
  await phone.fill({ Producto: 'regular', Sacado: '20', 'Devuelto al tanque': '12', 'Qué tanque': '2' });
  await day(phone, 'sacado 20 L, devuelto 12 L, guardado 0 L');
  // What is told in gallons is added in liters: 1 gal is 3.785411784 L.
  await phone.row('day', 'Anotar combustible').click();
  await form.waitFor();
  assert.equal(await unit.inputValue(), 'L', 'the unit of the ledger');
  await unit.selectOption('gal');
  await phone.fill({ Producto: 'regular', 'Guardado en un recipiente': '2.1134' });
  await day(phone, 'guardado 8.00009 L');
  await day(phone, 'cuadra');
  await phone.row('day', 'Anotar un derrame').click();
  await form.waitFor();
  assert.equal(await unit.inputValue(), 'L');
  await phone.fill({ Producto: 'regular', Derramado: '95' });
  await w.seen.event('spill.recorded', { where: (d) => d.quantity === 95 && d.unit === 'L' });
  await job.ask('return-position');
  await phone.page.goto('/record/juniper/J-1?lang=es');
  const told = 'regular: sacado 20 L (totalizador – a –), devuelto 12 L al tanque 2, guardado 8.00009 L;';
  await phone.page.locator('main', { hasText: told }).waitFor();
  phone.sound();
  await phone.close();
});

scenario('a part, a promise, evidence and a shift note in Spanish', plain, async (w) => {
  const job = await new Repair(w).to('open');
  await job.ask('join-job', {}, 't-105');
  const phone = await phoneOf(w, 't-104', { locale: 'es-MX' });
  await phone.row('day', 'Nombrar una pieza').click();
  await phone.fill({ Pieza: 'hose', 'Número de serie': 'S-1', 'Vale hasta': '2031-05-31' });
  await day(phone, 'Se montó: hose, S-1 vale hasta 2031-05-31');
  await phone.row('day', 'Decir cuándo vuelve').click();
  await phone.fill({ Vuelve: '2031-05-31T10:30' });
  await day(phone, 'Vuelve');
  await phone.row('day', 'Adjuntar').click();
  await phone.fill({
    'Qué muestra': '<b>bota</b>',
    'Dirección (https://…)': 'https://files.example/1',
    'SHA-256 del archivo (64 dígitos)': 'a'.repeat(64),
  });
  const link = phone.page.locator('#day a', { hasText: '<b>bota</b>' });
  await link.waitFor();
  assert.equal(await link.getAttribute('href'), 'https://files.example/1');
  assert.match(await link.getAttribute('rel'), /noopener/);
  await phone.row('more', 'Entregar el cargo').click();
  await phone.fill({ Persona: 't-105', 'Nota para el turno siguiente': 'falta la bota' });
  await day(phone, 'falta la bota');
  await phone.shot('day-es', true);
  await whole(phone);
  phone.sound();
  await phone.close();
});

scenario('a viewer tells of a fault and a spill, a manager signs its report', plain, async (w) => {
  const viewer = await phoneOf(w, 'v-1');
  await viewer.row('day', 'Report something wrong').click();
  await viewer.fill({ 'What is wrong?': 'the display flickers' });
  await w.seen.event('fault.reported', { where: (d) => d.text === 'the display flickers' });
  await viewer.row('day', 'Record a spill').click();
  await viewer.fill({ Product: 'regular', Spilled: '30' });
  await w.seen.alarm('spill-report-due', (a) => a.priority === 'low');
  const manager = await phoneOf(w, 'm-1');
  await manager.page.locator('#alarms', { hasText: 'report due by' }).waitFor();
  await manager.shot('day-spill', true);
  await manager.row('day', 'Spill s1 was reported').click();
  await manager.fill({ 'Reference of the report': 'A-77' });
  await w.seen.event('spill.reported', { where: (d) => d.reference === 'A-77' });
  for (const phone of [viewer, manager]) {
    await whole(phone);
    phone.sound();
    await phone.close();
  }
});

scenario('the board says how old what hangs is, and what is overdue', plain, async (w) => {
  const job = await new Repair(w).to('working');
  await job.ask('fit-part', { part: 'hose', due: '2001-01-31' });
  await job.to('returned');
  const browser = await openBrowser();
  const base = `http://${w.plan.main.http.listen}`;
  const page = await browser.page(tokenOf('m-1'), { base, width: 1280, height: 800 });
  await page.goto('/board/juniper');
  await page.locator('.hanging', { hasText: 'hose 0 d, OVERDUE since 2001-01-31' }).waitFor();
  assert.deepEqual(page.wrong, []);
  await browser.close();
});
