// The printable record in a real browser: complete, in both languages, accessible, at most two
// sheets of A4 and of Letter, its code leading back to it.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { readFileSync, writeFileSync } from 'node:fs';
import { join } from 'node:path';
import jsQR from 'jsqr';
import { PNG } from 'pngjs';
import { sideways, violations } from './harness/access.mjs';
import { openBrowser, shot } from './harness/browser.mjs';
import { DEFECT, eventfulRepair } from './harness/eventful.mjs';
import { Repair } from './harness/repair.mjs';
import { Web, tokenOf, tokens } from './harness/web.mjs';
import { scenario } from './harness/world.mjs';

const ready = (page) => page.waitForSelector('main:not([aria-busy]) h1');

const pages = (file) =>
  Number(/^Pages:\s+(\d+)/m.exec(execFileSync('pdfinfo', [file], { encoding: 'utf8' }))[1]);

async function printed(page, dir, format, name) {
  const file = join(dir, `${name}-${format}.pdf`);
  writeFileSync(file, await page.pdf({ format, preferCSSPageSize: false, printBackground: false }));
  const text = execFileSync('pdftotext', ['-layout', file, '-'], { encoding: 'utf8' });
  if (process.env.FORELOCK_SHOTS)
    writeFileSync(join(process.env.FORELOCK_SHOTS, `${name}-${format}.pdf`), readFileSync(file));
  return { file, text: text.replaceAll(/\s+/g, ' '), pages: pages(file) };
}

// The smallest type of what has text on it, in points, as it is printed.
async function smallest(page) {
  await page.emulateMedia({ media: 'print' });
  const px = await page.evaluate(() => {
    const own = (e) => [...e.childNodes].some((n) => n.nodeType === 3 && n.data.trim() !== '');
    const shown = [...document.querySelectorAll('main *')].filter((e) => own(e) && e.checkVisibility());
    return Math.min(...shown.map((e) => parseFloat(getComputedStyle(e).fontSize)));
  });
  await page.emulateMedia({ media: null });
  return px * 0.75;
}

const WORDS = {
  en: [
    'Record of repair',
    'LOCKOUT BROKEN',
    'Locks and tags',
    'Local codes',
    'not on site',
    'FAILED',
    'Reviewed by',
  ],
  es: [
    'Registro de reparación',
    'BLOQUEO PERDIDO',
    'Candados y etiquetas',
    'códigos locales',
    'NO PASÓ',
    'Revisado por',
  ],
};

scenario('the record prints on two sheets in both languages', { tweak: tokens }, async (w) => {
  await eventfulRepair(w);
  const web = new Web(w);
  const base = `http://${w.plan.main.http.listen}`;
  const record = await web.get('/api/juniper/record/J-1');
  const browser = await openBrowser();
  try {
    for (const lang of ['en', 'es']) {
      const page = await browser.page(tokenOf('m-1'), { base, width: 900, height: 1000, lang });
      await page.goto(`/record/juniper/J-1?lang=${lang}`);
      await ready(page);
      assert.equal(await page.evaluate(() => document.documentElement.lang), lang);
      await shot(page, `record-${lang}`);
      assert.deepEqual(await violations(page), []);
      assert.ok((await smallest(page)) >= 8.99, `${await smallest(page)} pt`);
      assert.equal(await page.locator('table.of-points tbody tr').count(), 10);
      for (const format of ['A4', 'Letter']) {
        const { text, pages: count } = await printed(page, w.dir, format, lang);
        assert.ok(count <= 2, `${count} sheets of ${format}`);
        for (const part of [
          ...WORDS[lang],
          'Juniper Crossing',
          'boot-kit-7',
          'went home ill',
          'vapor-b',
          '43.8',
          'leak at the swivel',
          record.journal.last_hash,
          String(record.journal.last_seq),
        ])
          assert.ok(
            text.toLowerCase().includes(part.toLowerCase()),
            `${part} is not on ${format}: ${text}`,
          );
      }
      assert.ok((await page.textContent('main')).includes(DEFECT));
      assert.equal(await page.locator('b:text("half")').count(), 0, 'a text was parsed as HTML');
      assert.deepEqual(page.wrong, []);
      await page.context().close();
    }

    const phone = await browser.page(tokenOf('t-104'), { base, width: 360, height: 640 });
    await phone.goto('/record/juniper/J-1');
    await ready(phone);
    await shot(phone, 'record-phone');
    assert.ok((await sideways(phone)) <= 0, 'the page scrolls sideways on a phone');
    const code = await phone.locator('img.code').evaluate((img) => {
      const canvas = document.createElement('canvas');
      canvas.width = canvas.height = 400;
      const context = canvas.getContext('2d');
      context.drawImage(img, 0, 0, 400, 400);
      return canvas.toDataURL();
    });
    const png = PNG.sync.read(Buffer.from(code.split(',')[1], 'base64'));
    assert.equal(
      jsQR(new Uint8ClampedArray(png.data), png.width, png.height)?.data,
      `${base}/record/juniper/J-1`,
    );
    await phone.click('button[lang=es]');
    await phone.waitForSelector('text=Registro de reparación');
    await phone.goto('/record/juniper/none');
    await phone.waitForSelector('[role=alert]');
    assert.deepEqual(phone.wrong, []);
  } finally {
    await browser.close();
  }
});

scenario('a plain repair, and one that is not finished', { tweak: tokens }, async (w) => {
  await new Repair(w, { procedure: 'spout-and-boot' }).to('returned');
  await new Repair(w, { job: 'J-2', position: '4A' }).to('working');
  const base = `http://${w.plan.main.http.listen}`;
  const browser = await openBrowser();
  try {
    const page = await browser.page(tokenOf('m-1'), { base, width: 900, height: 1000 });
    await page.goto('/record/juniper/J-1');
    await ready(page);
    const { pages: count } = await printed(page, w.dir, 'Letter', 'plain');
    assert.ok(count <= 2, `${count} sheets`);
    const plain = await page.textContent('main');
    // Whose locks came off in order was not unprotected; limits have their direction and unit.
    assert.doesNotMatch(plain, /NOT PROTECTED/);
    for (const part of [
      'at least 0 L',
      'from -1 to 1 V',
      'from 43.8 to 48.4 N·m',
      '45 N·m',
      '500000 Ω, at most 1000000; margin 500000',
    ])
      assert.ok(plain.includes(part), `${part}: ${plain}`);
    await page.goto('/record/juniper/J-2');
    await page.waitForSelector('.verdict.standing');
    assert.deepEqual(await violations(page), []);
    const { text } = await printed(page, w.dir, 'A4', 'standing');
    for (const part of ['Not finished', 'HANGS', 'not signed', 'so far'])
      assert.ok(text.toLowerCase().includes(part.toLowerCase()), `${part}: ${text}`);
    assert.deepEqual(page.wrong, []);
  } finally {
    await browser.close();
  }
});

scenario('a stop is told with its check and what was read', { tweak: tokens }, async (w) => {
  const repair = await new Repair(w, { procedure: 'spout-and-boot' }).to('working');
  await repair.ask('sign-check', { check: 'no-voltage', value: 120.5, unit: 'V' });
  await repair.phase('stopped', 'broken');
  await w.ok('t-105', 'stop-work', { job: 'J-1', reason: 'Smell of vapor' });
  const base = `http://${w.plan.main.http.listen}`;
  const browser = await openBrowser();
  try {
    for (const [lang, held, called] of [
      ['en', '120.5 V, from -1 to 1; margin -119.5', 'STOP CALLED'],
      ['es', '120.5 V, de -1 a 1; margen -119.5', 'SE PIDIÓ PARAR'],
    ]) {
      const page = await browser.page(tokenOf('m-1'), { base, width: 900, height: 1000, lang });
      await page.goto(`/record/juniper/J-1?lang=${lang}`);
      await ready(page);
      const text = (await page.textContent('main')).replaceAll(/\s+/g, ' ');
      assert.ok(text.includes(`Absence of voltage, meter proved before and after: ${held}`), text);
      assert.ok(text.includes(called), text);
      assert.ok(text.includes('Smell of vapor'), text);
      assert.deepEqual(page.wrong, []);
      await page.context().close();
    }
    const { out, code } = await w.tool('record', 'J-1');
    assert.equal(code, 0);
    const told = 'by the check no-voltage, Absence of voltage, meter proved before and after: 120.5 V';
    assert.ok(out.replaceAll(/\s+/g, ' ').includes(told), out);
    assert.match(out.replaceAll(/\s+/g, ' '), /\[limits: from -1 to 1 V\]/);
    assert.match(out, /STOP CALLED/);
  } finally {
    await browser.close();
  }
});

const titled = {
  tweak(plan) {
    tokens(plan);
    const title = { en: 'What is left of the pressure', es: 'Lo que queda de la presión' };
    plan.procedures.boot.tests = [
      { test: 'held', rule: 'pressure-decay', title, method: 'TP-201.3', edition: '2013' },
      { test: 'flow', rule: 'flow-rate', each: 'product' },
    ];
  },
};

scenario('a test is told with its title, its method and its edition', titled, async (w) => {
  const repair = await new Repair(w).to('testing');
  await repair.record('flow.regular', { volume_l: 18.9, seconds: 40 });
  const browser = await openBrowser();
  try {
    const base = `http://${w.plan.main.http.listen}`;
    for (const [lang, ...told] of [
      ['en', 'What is left of the pressure (held, rule pressure-decay)', 'Method: TP-201.3, edition 2013', 'flow rate (flow.regular, rule flow-rate)', 'Volume 18.9 L, Time 40 s'],
      ['es', 'Lo que queda de la presión (held, regla pressure-decay)', 'Método: TP-201.3, edición 2013', 'caudal (flow.regular, regla flow-rate)', 'Volumen 18.9 L, Tiempo 40 s'],
    ]) {
      const page = await browser.page(tokenOf('m-1'), { base, width: 900, height: 1000, lang });
      await page.goto(`/record/juniper/J-1?lang=${lang}`);
      await ready(page);
      const text = await page.textContent('table.of-tests');
      for (const part of told) assert.ok(text.includes(part), `${part}: ${text}`);
      assert.deepEqual(page.wrong, []);
      await page.context().close();
    }
  } finally {
    await browser.close();
  }
  const { out } = await w.tool('record', 'J-1');
  const words = out.replaceAll(/\s+/g, ' ');
  assert.ok(
    words.includes('held, What is left of the pressure, rule pressure-decay method TP-201.3, edition 2013'),
    out,
  );
});

const uncertain = {
  tweak(plan) {
    tokens(plan);
    plan.instruments.push({
      instrument: 'meg-1',
      kind: 'megohmmeter',
      calibrated_until: '2099-12-31',
      uncertainty: { value: 600000, unit: 'ohm' },
    });
    plan.procedures.boot.tests = [{ test: 'hose', rule: 'range', unit: 'ohm', max: 1000000 }];
  },
};

scenario('what the instrument makes of a verdict is told', uncertain, async (w) => {
  const repair = await new Repair(w).to('testing');
  await repair.record('hose', { value: 500000 }, { instrument: 'meg-1' });
  const browser = await openBrowser();
  try {
    const base = `http://${w.plan.main.http.listen}`;
    for (const [lang, told] of [
      ['en', 'CONDITIONAL PASS, instrument ± 600000 Ω'],
      ['es', 'PASA, CON CONDICIÓN, instrumento ± 600000 Ω'],
    ]) {
      const page = await browser.page(tokenOf('m-1'), { base, width: 900, height: 1000, lang });
      await page.goto(`/record/juniper/J-1?lang=${lang}`);
      await ready(page);
      const text = await page.textContent('main');
      assert.ok(text.includes(told), text);
      assert.deepEqual(page.wrong, []);
      await page.context().close();
    }
  } finally {
    await browser.close();
  }
});
