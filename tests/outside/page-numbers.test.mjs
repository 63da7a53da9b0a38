// Numbers that people type, on the phone and on the board, in both languages: understood in one way or not
// at all, and shown back with their unit before they are sent.
import assert from 'node:assert/strict';
import { boardScenario, says } from './harness/board.mjs';
import { Phone } from './harness/phone.mjs';
import { Repair } from './harness/repair.mjs';
import { tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const WORDS = {
  'en-US': {
    record: 'Record test',
    understood: 'Understood',
    send: 'Send',
    sent: 'This is sent:',
    seconds: 'Time',
    volume: 'Volume',
    label: 'Reading',
    passed: 'Passed: 700000 Ω',
    form: 'Only digits and one decimal mark, as in 8500 or 8.5.',
    two: (whole, parts) => `This can be read in two ways. Write ${whole} or ${parts}.`,
  },
  'es-MX': {
    record: 'Anotar prueba',
    understood: 'Se entiende',
    send: 'Enviar',
    sent: 'Se envía esto:',
    seconds: 'Tiempo',
    volume: 'Volumen',
    label: 'Lectura',
    passed: 'Pasó: 700000 Ω',
    form: 'Solo cifras y una marca decimal, como 8500 u 8.5.',
    two: (whole, parts) => `Esto se puede leer de dos maneras. Escriba ${whole} o ${parts}.`,
  },
};

// What is typed as ohms; the number that it is, or what is said of it.
const typed = (words) => [
  ['700,000', words.two('700000', '700')],
  ['8,500', words.two('8500', '8.5')],
  ['1.234', words.two('1234', '1.2340')],
  ['1e3', words.form],
  ['1 000', words.form],
  ['1,000,000', words.form],
  ['１２', words.form],
  ['١٢', words.form],
  ['-3', '-3'],
  ['1.25', '1.25'],
  ['1,25', '1.25'],
  ['12,5', '12.5'],
  ['.5', '0.5'],
];

const numbers = {
  maxAge: 20,
  tweak(plan) {
    tokens(plan);
    plan.procedures.boot.tests = [
      { test: 'hose', rule: 'range', unit: 'ohm', max: 1000000, powered: false },
      { test: 'flow', rule: 'flow-rate' },
    ];
  },
};

for (const [locale, words] of Object.entries(WORDS))
  scenario(`a typed number is understood in one way or not sent (${locale})`, numbers, async (w) => {
    const job = await new Repair(w).to('testing');
    const leader = await Phone.open(w, { locale });
    const form = leader.page.locator('dialog[open]');
    const submit = form.locator('button[type=submit]');
    const recorded = async () =>
      (await w.journal()).filter((e) => e.type.endsWith('test.recorded')).map((e) => e.data.result);
    await leader.next(`${words.record}: hose`);
    const reading = form.getByLabel(words.label);
    assert.equal(await reading.getAttribute('type'), 'text');
    assert.equal(await reading.getAttribute('inputmode'), 'decimal');
    const said = form.locator('[data-field="readings.value"] output');
    await submit.click();
    await form.getByText(locale === 'en-US' ? 'This is needed.' : 'Esto hace falta.').waitFor();
    for (const [text, expected] of typed(words)) {
      await reading.fill(text);
      const good = /^[-.\d]+$/.test(expected);
      const told = good ? `${words.understood}: ${expected} Ω` : expected;
      await said.filter({ hasText: told }).waitFor();
      assert.equal((await said.innerText()).trim(), told, text);
      const label = (await submit.innerText()).trim();
      assert.equal(label, good ? `${words.send}: ${expected} Ω` : words.send, text);
      if (good) continue;
      await submit.click();
      assert.equal(await reading.getAttribute('aria-invalid'), '', text);
      assert.ok(await form.isVisible(), `${text} was sent`);
    }
    // Digits of some phones have no minus.
    await reading.fill('3');
    await form.locator('.sign-turn').click();
    await said.filter({ hasText: `${words.understood}: -3 Ω` }).waitFor();
    await form.locator('.sign-turn').click();
    assert.equal(await reading.inputValue(), '3');
    await reading.fill('8,500');
    await leader.shot(`number-refused-${locale}`);
    assert.deepEqual(await recorded(), [], 'nothing was sent');
    await reading.fill('700000');
    await leader.shot(`number-understood-${locale}`);
    await submit.click();
    await leader.answer(words.passed);
    const [first] = await recorded();
    assert.equal(first.inputs.value, 700000);

    // Several numbers stand above the button as they are understood, each in the unit that is chosen.
    await leader.next(`${words.record}: flow`);
    await form.getByRole('textbox', { name: words.volume }).fill('8,500');
    await form.getByRole('textbox', { name: words.seconds }).fill('30');
    await submit.click();
    assert.ok(await form.isVisible(), 'what is not understood was sent');
    await form.getByRole('textbox', { name: words.volume }).fill('15,1');
    await form.locator('[data-field="readings.volume_gal"] select').selectOption({ label: 'L' });
    const sent = form.locator('.sent');
    await sent.getByText('15.1 L').waitFor();
    await sent.getByText('30 s').waitFor();
    await sent.getByText(words.sent).waitFor();
    await submit.scrollIntoViewIfNeeded();
    await leader.shot(`numbers-sent-${locale}`);
    await submit.click();
    await job.doc((d) => d.tests.every((x) => x.pass), 'both passed');
    assert.deepEqual((await recorded()).at(-1).inputs, { volume_l: 15.1, seconds: 30 });
    leader.sound();
    await leader.close();
  });

const asked = {
  tweak(plan) {
    plan.procedures.boot.prepare = [
      { check: 'tank', ask: 'Tank gauge read', by: 'manager', unit: 'gal', max: 9000 },
    ];
  },
};

for (const [lang, words] of [['en', WORDS['en-US']], ['es', WORDS['es-MX']]])
  boardScenario(`the same on the board (${lang})`, asked, async (w) => {
    await new Repair(w).to('open');
    const page = await w.board('m-1', { lang });
    await page.locator('.wait[data-check="tank"] button').click();
    const form = page.locator('.dialog form');
    const reading = form.locator('[name="value"]');
    const said = form.locator('output');
    for (const [text, expected] of typed(words)) {
      await reading.fill(text);
      const good = /^[-.\d]+$/.test(expected);
      await says(said, good ? `${words.understood}: ${expected} gal` : expected);
      if (good) continue;
      await form.locator('button[type=submit]').click();
      assert.equal(await reading.evaluate((e) => e.validity.valid), false, `${text} can be sent`);
      assert.ok(await form.isVisible(), text);
    }
    assert.equal((await w.journal()).filter((e) => e.type.endsWith('check.signed')).length, 0);
    await reading.fill('8500');
    await form.locator('button[type=submit]').click();
    await form.waitFor({ state: 'detached' });
    const tank = (d) => d.checks.find((c) => c.check === 'tank');
    const signed = await w.job('J-1', (d) => tank(d).at !== null, 'signed');
    assert.deepEqual([tank(signed).value, tank(signed).unit, tank(signed).pass], [8500, 'gal', true]);
  });
