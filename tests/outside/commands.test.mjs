// The programs as an operator calls them: what they print and with which status they end.
import assert from 'node:assert/strict';
import { createHash } from 'node:crypto';
import test from 'node:test';
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { end, run, start } from './harness/child.mjs';
import { Repair } from './harness/repair.mjs';
import { plan, write } from './harness/site.mjs';
import { DAEMON, TOOL, scenario } from './harness/world.mjs';

async function inDirectory(body, tweak) {
  const dir = mkdtempSync(join(tmpdir(), 'forelock-commands-'));
  try {
    const p = plan();
    tweak?.(p);
    await body(write(dir, p), dir);
  } finally {
    rmSync(dir, { recursive: true, force: true });
  }
}

test('version and help', async () => {
  for (const program of [DAEMON, TOOL]) {
    const version = await run(program, ['--version']);
    assert.equal(version.code, 0);
    assert.match(version.out, /\d+\.\d+\.\d+/);
    const help = await run(program, ['--help']);
    assert.equal(help.code, 0);
    assert.match(help.out, /-c\b/);
  }
  assert.match((await run(DAEMON, ['--help'])).out, /-t\b/);
});

// What a usage line and a block of the manual's synopsis have in common: the command, how many words
// follow it and whether they may be left out, and its options in order, in brackets or not. What a value
// is called is each text's own. Every command takes --json, and a usage may leave it out.
const optionsOf = (text) => (text.match(/\[?--?[a-z]+/g) ?? []).filter((o) => o !== '[--json').join(' ');

function ofUsage(line) {
  const words = line.trim().replace('usage: ', '').split(' ').slice(1);
  const from = words.findIndex((word) => /^\[?-/.test(word));
  const name = words.slice(0, from).filter((word) => /^[a-z]+$/.test(word));
  const behind = words.slice(name.length, from);
  return [name.join(' '), behind.length, behind.some((w) => w.startsWith('[')), optionsOf(words.slice(from).join(' '))];
}

function ofManual(block) {
  const [first, ...lines] = block.trimEnd().split('\n');
  const [group, ...parts] = first.replace('.Cm ', '').split(/ \| | /);
  const words = lines.filter((line) => /^\.(Op )?Ar /.test(line));
  const options = lines.filter((line) => !words.includes(line)).join(' ').replace(/\.Op /g, '[');
  const told = [
    words.flatMap((line) => (line.includes('=') ? ['='] : line.replace(/^.*Ar /, '').split(' '))).length,
    words.some((line) => line.startsWith('.Op')),
    optionsOf(options.replace(/\.?Fl Fl /g, '--').replace(/\.?Fl /g, '-')),
  ];
  return parts.length > 1 ? parts.map((part) => [`${group} ${part}`, ...told]) : [[[group, ...parts].join(' '), ...told]];
}

test("the manual's synopsis is the usage", async () => {
  const { out } = await run(TOOL, ['--help']);
  const usage = out.split('\n\n')[0].split('\n').filter((line) => !line.includes('--version')).map(ofUsage);
  const manual = readFileSync(new URL('../../docs/man/forelock.1', import.meta.url), 'utf8');
  const synopsis = /^\.Sh SYNOPSIS\n([^]*?)^\.Sh/m.exec(manual)[1].split(/^\.Nm\n/m);
  assert.deepEqual(synopsis.filter((block) => block.startsWith('.Cm')).flatMap(ofManual), usage);
  assert.ok(usage.length >= 15);
  // What a command's row names is an option that there is.
  for (const [name, , , options] of usage)
    for (const option of options.split(' ').map((text) => text.replace('[', '')))
      assert.doesNotMatch((await run(TOOL, [...name.split(' '), option, '7'])).err, /no option/, option);
});

test('forelockd -t checks and ends, and touches nothing', () =>
  inDirectory(async (file, dir) => {
    const good = await run(DAEMON, ['-t', '-c', file]);
    assert.equal(good.code, 0, good.err);
    assert.ok(!existsSync(join(dir, 'journal/forelock.db')), '-t made a journal');
    writeFileSync(join(dir, 'people.json'), '{"people": [');
    const bad = await run(DAEMON, ['-t', '-c', file]);
    assert.equal(bad.code, 3);
    assert.match(bad.err, /people\.json:1:\d+: /);
    // The daemon itself does not start with it either.
    assert.equal((await run(DAEMON, ['-c', file])).code, 3);
    const check = await run(TOOL, ['check', '-c', file]);
    assert.equal(check.code, 3);
    assert.match(check.out + check.err, /people\.json:1:\d+: /);
  }));

test('usage errors of the daemon', async () => {
  for (const args of [[], ['-t'], ['-c'], ['--no-such'], ['-c', '/nonexistent/a', 'more']]) {
    const { code, err } = await run(DAEMON, args);
    assert.equal(code, 2, `${args}: ${err}`);
    assert.ok(err.length > 0);
  }
  const { code, err } = await run(DAEMON, ['-c', '/nonexistent/forelock.json']);
  assert.ok([3, 4].includes(code), `${code}`);
  assert.match(err, /nonexistent/);
});

test('usage errors of the tool', () =>
  inDirectory(async (file) => {
    const wrong = [
      [],
      ['dance'],
      ['dance', '-c', file],
      ['gate', '-c', file],
      ['explain', '-c', file],
      ['journal', '-c', file],
      ['journal', 'burn', '-c', file],
      ['token', '-c', file],
      ['check', '-c', file, '--no-such'],
      ['gate', '-c', file, 'J-1', 'J-2'],
      ['check'],
      ['calc'],
      ['calc', 'no-such-rule'],
    ];
    for (const args of wrong) {
      const { code, err } = await run(TOOL, args);
      assert.equal(code, 2, `${args.join(' ')}: status ${code}, ${err}`);
      assert.ok(err.length > 0, `${args.join(' ')}: no word on standard error`);
    }
  }));

test('check', () =>
  inDirectory(async (file) => {
    const plain = await run(TOOL, ['check', '-c', file]);
    assert.equal(plain.code, 0, plain.err);
    const json = await run(TOOL, ['check', '-c', file, '--json']);
    assert.equal(json.code, 0);
    assert.doesNotThrow(() => JSON.parse(json.out), json.out);
  }));

test('token: its hash and not the token goes into the configuration', () =>
  inDirectory(async (file, dir) => {
    const before = readFileSync(join(dir, 'people.json'), 'utf8');
    const first = await run(TOOL, ['token', '-c', file, 't-104']);
    assert.equal(first.code, 0, first.err);
    const all = first.out + first.err;
    const hash = all.match(/\b[0-9a-f]{64}\b/g) ?? [];
    const words = all.split(/[\s"',:]+/);
    assert.ok(
      words.some((word) => hash.includes(createHash('sha256').update(word).digest('hex'))),
      all,
    );
    const second = await run(TOOL, ['token', '-c', file, 't-104']);
    assert.notEqual(second.out, first.out);
    assert.equal(readFileSync(join(dir, 'people.json'), 'utf8'), before);
    assert.notEqual((await run(TOOL, ['token', '-c', file, 'ghost'])).code, 0);
  }));

test('calc', async () => {
  const decay = [
    'calc',
    'pressure-decay',
    'system=assist',
    'nozzles=6',
    'ullage_gal=1000',
    'initial_inwc=2',
  ];
  const failed = await run(TOOL, [...decay, 'final_inwc=1.2', '--json']);
  assert.equal(failed.code, 1, failed.err);
  const result = JSON.parse(failed.out);
  assert.deepEqual(Object.keys(result).sort(), [
    'formula',
    'inputs',
    'limit',
    'margin',
    'pass',
    'rule',
    'source',
    'value',
  ]);
  assert.equal(result.pass, false);
  assert.ok(Math.abs(result.limit - 1.21197) < 1e-4);
  assert.equal((await run(TOOL, [...decay, 'final_inwc=1.22'])).code, 0);
  const missing = await run(TOOL, decay);
  assert.equal(missing.code, 2);
  assert.match(missing.err, /final_inwc/);
  const torque = await run(TOOL, [
    'calc',
    'torque',
    'target_ftlb=34',
    'wrench_in=10',
    'adapter_in=4',
    '--json',
  ]);
  assert.equal(torque.code, 0, torque.err);
  assert.equal(JSON.parse(torque.out).pass, null);
  assert.ok(Math.abs(JSON.parse(torque.out).value - (34 * 10) / 14) < 1e-6);
  const range = await run(TOOL, ['calc', 'range', 'value=5', 'min=5', 'max=6', '--json']);
  assert.deepEqual([range.code, JSON.parse(range.out).limit], [0, { min: 5, max: 6 }]);
});

test('a journal that is none, or belongs to something else, is refused with a sentence', () =>
  inDirectory(async (file, dir) => {
    const journal = join(dir, 'journal/forelock.db');
    writeFileSync(journal, 'this is not a journal\n'.repeat(400));
    const before = readFileSync(journal);
    const daemon = start(DAEMON, ['-c', file], { cwd: dir });
    const status = await Promise.race([
      daemon.exited,
      new Promise((r) => setTimeout(r, 5000, null)),
    ]);
    await end(daemon, 'SIGKILL');
    assert.ok(status && status.code > 0, `the daemon runs on a foreign journal: ${daemon.err}`);
    assert.match(daemon.err, /forelock\.db/);
    assert.deepEqual(readFileSync(journal), before, 'it was repaired in silence');
    const verify = await run(TOOL, ['journal', 'verify', '-c', file]);
    assert.ok([1, 4].includes(verify.code), `status ${verify.code}`);
  }));

scenario('gate and explain', {}, async (w) => {
  const job = await new Repair(w, { procedure: 'spout-and-boot' }).to('open');
  await job.no('start-work', {}, 'point-live');
  const closed = await w.tool('gate', 'J-1');
  assert.equal(closed.code, 1, closed.err);
  for (const word of ['3-power', '3-product', 'barricade', 'no-voltage'])
    assert.ok(closed.out.includes(word), `${word}:\n${closed.out}`);
  const json = await w.tool('gate', 'J-1', '--json');
  assert.equal(json.code, 1);
  assert.match(json.out, /point-live/);
  assert.doesNotThrow(() => JSON.parse(json.out));
  await job.to('confirmed');
  assert.equal((await w.tool('gate', 'J-1')).code, 0);
  await job.to('working');
  await w.hw.set('3-power', 'live');
  await job.phase('stopped', 'broken');
  await w.seen.event('lockout.broken');
  const story = await w.tool('explain', 'J-1');
  assert.equal(story.code, 0, story.err);
  for (const word of ['J-1', '3A', 't-104', 'k-1', 'm-1', 'barricade', '3-power', 'point-live'])
    assert.ok(story.out.includes(word), `${word}:\n${story.out}`);
  const told = ['opened', 'refused', 'hung', 'confirmed', 'started', 'broken'].map((word) =>
    story.out.toLowerCase().indexOf(word),
  );
  assert.ok(
    told.every((at) => at >= 0),
    `${told}\n${story.out}`,
  );
  const machine = await w.tool('explain', 'J-1', '--json');
  assert.equal(machine.code, 0);
  for (const command of ['gate', 'explain']) {
    const unknown = await w.tool(command, 'J-77');
    assert.ok([1, 4].includes(unknown.code), `${command}: ${unknown.code}`);
    assert.ok((unknown.out + unknown.err).includes('J-77'));
  }
});

scenario('journal show, verify and export; a changed byte is found', {}, async (w) => {
  const job = await new Repair(w).to('open');
  await job.to('isolated');
  await job.tag();
  await job.sign('no-flow', { note: 'MARKER-ALPHA' });
  const lines = await w.journal();
  lines.forEach((line, i) => {
    assert.deepEqual(
      Object.keys(line).sort(),
      ['at', 'data', 'seq', 'site', 'subject', 'type'],
      JSON.stringify(line),
    );
    assert.equal(line.seq, i + 1);
  });
  // What was told as an event is in the journal under the event's id.
  for (const { body } of w.seen.events()) {
    const line = lines[Number(body.id) - 1];
    assert.ok(line, `event ${body.id} is not in the journal`);
    assert.equal(`forelock.${line.type.replace(/^forelock\./, '')}`, body.type);
  }
  assert.equal((await w.tool('journal', 'show')).code, 0);
  assert.equal((await w.tool('journal', 'verify')).code, 0);
  const exported = await w.tool('journal', 'export');
  assert.equal(exported.code, 0, exported.err);
  assert.ok(exported.out.includes('MARKER-ALPHA'));
  await w.stopDaemon();
  const path = join(w.dir, 'journal/forelock.db');
  const bytes = readFileSync(path);
  const at = bytes.indexOf('MARKER-ALPHA');
  assert.ok(at >= 0, 'the note is not in the file');
  bytes.write('MARKER-OMEGA', at);
  writeFileSync(path, bytes);
  const verify = await w.tool('journal', 'verify');
  assert.equal(verify.code, 1, verify.out + verify.err);
  const signed =
    lines.find((l) => JSON.stringify(l.data).includes('MARKER-ALPHA')) ??
    lines.find((l) => l.type.endsWith('check.signed'));
  assert.match(verify.out + verify.err, new RegExp(`\\b${signed.seq}\\b`));
  const refused = await run(DAEMON, ['-c', w.file], { cwd: w.dir });
  assert.ok(refused.code > 0, 'the daemon starts on a damaged journal');
});

scenario('the tool says that it cannot read what it needs', { daemon: false }, async (w) => {
  for (const args of [
    ['journal', 'show'],
    ['journal', 'verify'],
    ['explain', 'J-1'],
  ]) {
    const { code } = await w.tool(...args);
    assert.equal(code, 4, args.join(' '));
  }
});
