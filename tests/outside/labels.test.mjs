// Labels and enrollment codes as they are printed: read back as a phone's camera reads them.
import assert from 'node:assert/strict';
import { execFileSync } from 'node:child_process';
import { mkdtempSync, readFileSync, readdirSync, rmSync, statSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import test from 'node:test';
import jsQR from 'jsqr';
import { PNG } from 'pngjs';
import { run } from './harness/child.mjs';
import { openBrowser } from './harness/browser.mjs';
import { plan, write } from './harness/site.mjs';
import { TOOL } from './harness/world.mjs';

const BASE = 'https://forelock.example:8443/yard';

function world(tweak = () => {}) {
  const dir = mkdtempSync(join(tmpdir(), 'forelock-labels-'));
  const made = plan({});
  made.main.broker.port = 1;
  made.main.http.listen = '127.0.0.1:1';
  tweak(made);
  const file = write(dir, made);
  return {
    dir,
    tool: (...args) => run(TOOL, [args[0], '-c', file, ...args.slice(1)], { cwd: dir }),
  };
}

// The code on a picture; null if none can be read.
const codeOn = (png) => jsQR(new Uint8ClampedArray(png.data), png.width, png.height)?.data ?? null;

function cut(png, x, y, width, height) {
  const part = new PNG({ width, height });
  PNG.bitblt(png, part, x, y, width, height, 0, 0);
  return part;
}

const DPI = 200;
const pixels = (mm) => Math.round((mm * DPI) / 25.4);

// Cuts printed sheets along their marks, and reads each label that is there.
function codesOfSheets(dir, pdf) {
  execFileSync('pdftoppm', ['-r', String(DPI), '-png', pdf, join(dir, 'sheet')]);
  const names = readdirSync(dir)
    .filter((n) => /^sheet.*png$/.test(n))
    .sort();
  return names.flatMap((n) => {
    const png = PNG.sync.read(readFileSync(join(dir, n)));
    rmSync(join(dir, n));
    const [width, height] = [pixels(90), pixels(85)];
    const [left, top] = [(png.width - 2 * width) >> 1, (png.height - 3 * height) >> 1];
    return [0, 1, 2, 3, 4, 5]
      .map((i) => codeOn(cut(png, left + (i % 2) * width, top + (i >> 1) * height, width, height)))
      .filter(Boolean);
  });
}

const size = (pdf) =>
  /^Page size:\s+([\d.]+) x ([\d.]+)/m.exec(execFileSync('pdfinfo', [pdf], { encoding: 'utf8' }));

test('sheets of labels on both papers lead to every position', async () => {
  const { dir, tool } = world((p) => {
    p.sites.juniper.title = 'Depósito (norte) \\ <Ñ> & "hijos"';
    p.main.http.url = BASE;
    for (const n of [6, 7])
      p.sites.juniper.positions.push({
        ...p.sites.juniper.positions[0],
        position: `${n}A`,
        dispenser: `${n}`,
      });
    for (const point of p.sites.juniper.points.slice(0, 2)) point.isolates.push('6A', '7A');
  });
  const expected = ['3A', '3B', '4A', '5A', '9A', '6A', '7A'].map((p) => `${BASE}/at/juniper/${p}`);
  for (const [paper, width, height] of [
    ['a4', 595.28, 841.89],
    ['letter', 612, 792],
  ]) {
    const pdf = join(dir, `${paper}.pdf`);
    const { code, err, out } = await tool('labels', 'juniper', '--pdf', pdf, '--paper', paper);
    assert.equal(code, 0, err);
    assert.equal(err, '');
    for (const url of expected) assert.ok(out.includes(url), out);
    const [, w, h] = size(pdf);
    assert.ok(Math.abs(w - width) < 0.5 && Math.abs(h - height) < 0.5, `${w} x ${h}`);
    assert.deepEqual(codesOfSheets(dir, pdf), expected);
    const text = execFileSync('pdftotext', ['-layout', pdf, '-'], { encoding: 'utf8' });
    for (const part of [
      'Depósito (norte) \\ <Ñ> & "hijos"',
      '3A',
      'Scan: lockout state of this position',
      'Escanee: estado del bloqueo de esta posición',
      'No screen replaces your lock, tag and meter',
      'Ninguna pantalla',
    ])
      assert.ok(text.includes(part), `${part} is not in ${text}`);
  }
  rmSync(dir, { recursive: true });
});

test('drawings of labels, and characters that the sheets lack', async () => {
  const { dir, tool } = world((p) => (p.sites.juniper.title = '北 <yard> & co'));
  const { code, err } = await tool(
    'labels',
    'juniper',
    '--svg',
    join(dir, 'svg'),
    '--pdf',
    join(dir, 'x.pdf'),
    '--url',
    `${BASE}/`,
  );
  assert.equal(code, 0, err);
  assert.match(err, /5 characters are not in the fonts/);
  const files = readdirSync(join(dir, 'svg')).sort();
  assert.deepEqual(
    files,
    ['3A', '3B', '4A', '5A', '9A'].map((p) => `juniper-${p}.svg`),
  );
  const browser = await openBrowser();
  try {
    const page = await browser.page(null, { width: 400, height: 400, deviceScaleFactor: 3 });
    for (const file of files.slice(0, 2)) {
      await page.goto(`file://${join(dir, 'svg', file)}`);
      const { title, text } = await page.evaluate(() => ({
        title: document.querySelector('title').textContent,
        text: document.documentElement.textContent,
      }));
      assert.ok(title.includes('北 <yard> & co') && text.includes('No screen replaces'), text);
      const png = PNG.sync.read(await page.screenshot());
      assert.equal(codeOn(png), `${BASE}/at/juniper/${file.slice(8, 10)}`);
    }
  } finally {
    await browser.close();
  }
  for (const [status, ...args] of [
    [2, 'juniper'],
    [1, 'elsewhere', '--url', BASE],
    [2, 'juniper', '--url', 'ftp://x'],
    [2, 'juniper', '--url', BASE, '--paper', 'a5'],
    [4, 'juniper', '--url', BASE, '--pdf', '/nonexistent/x.pdf'],
  ]) {
    const answer = await tool('labels', ...args);
    assert.equal(answer.code, status, `${args}: ${answer.err}`);
    assert.notEqual(answer.err, '');
  }
  rmSync(dir, { recursive: true });
});

// Half blocks as a picture: each character is two modules, one above the other.
function pictured(lines) {
  const scale = 4;
  const width = Math.max(...lines.map((l) => [...l].length)) * scale;
  const png = new PNG({ width, height: lines.length * 2 * scale });
  png.data.fill(255);
  lines.forEach((line, row) =>
    [...line].forEach((character, column) => {
      const dark = { ' ': [0, 0], '▀': [1, 0], '▄': [0, 1], '█': [1, 1] }[character];
      assert.ok(dark, `${character} is no half block`);
      dark.forEach((one, half) => {
        for (let y = 0; one && y < scale; y++)
          for (let x = 0; x < scale; x++)
            png.data.fill(
              0,
              (((row * 2 + half) * scale + y) * width + column * scale + x) * 4,
              (((row * 2 + half) * scale + y) * width + column * scale + x) * 4 + 3,
            );
      });
    }),
  );
  return png;
}

test('the code of a token enrolls its phone', async () => {
  const { dir, tool } = world((p) => (p.main.http.url = BASE));
  const svg = join(dir, 'code.svg');
  writeFileSync(svg, 'old', { mode: 0o644 });
  const { code, out, err } = await tool('token', 't-104', '--qr', '--svg', svg);
  assert.equal(code, 0, err);
  const token = /^ {4}(fl\S{43})$/m.exec(out)[1];
  const link = `${BASE}/enroll#${token}`;
  assert.ok(out.includes(`    ${link}\n`), out);
  const lines = out.split('\n').filter((l) => /[▀▄█]/.test(l));
  assert.equal(codeOn(pictured(lines.map((l) => ` ${l} `))), link);
  assert.equal(statSync(svg).mode & 0o777, 0o600);
  const browser = await openBrowser();
  try {
    const page = await browser.page(null, { width: 400, height: 400, deviceScaleFactor: 2 });
    await page.goto(`file://${svg}`);
    assert.equal(codeOn(PNG.sync.read(await page.screenshot())), link);
  } finally {
    await browser.close();
  }
  // Without a terminal and without being asked, no code; JSON has the link; --url wins over the file.
  const plain = await tool('token', 't-104', '--url', 'https://other.example/');
  assert.doesNotMatch(plain.out, /[▀▄█]/);
  const json = JSON.parse(
    (await tool('token', 't-104', '--json', '--url', 'https://other.example/')).out,
  );
  assert.equal(json.enroll, `https://other.example/enroll#${json.token}`);
  rmSync(dir, { recursive: true });
  const bare = world();
  assert.equal(JSON.parse((await bare.tool('token', 't-104', '--json')).out).enroll, null);
  assert.equal((await bare.tool('token', 't-104', '--qr')).code, 2);
  rmSync(bare.dir, { recursive: true });
});
