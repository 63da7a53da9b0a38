// Seeds each fault of the tables into its source file, one at a time, and runs the unit test that must fail.
// Prints fault and test; exits 1 if a fault survives or a table no longer fits the code.
//
// Usage: run [--all] [--room ROOM] [--shard I/N] [--jobs N] [--built] [FAULT...]
//   --all      run every test of the room against a fault and list all that fail
//   --shard    of all faults the Ith of N shares, for running them beside each other
//   --built    the build folder (FORELOCK_BUILD, or build/) is up to date: do not build first
import { mkdirSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { availableParallelism, cpus, tmpdir } from 'node:os';
import { basename, join } from 'node:path';
import { parseArgs } from 'node:util';
import { Build } from './build.mjs';
import { ROOT, filesBelow, readFaults, testIndex } from './table.mjs';

// Linked into every program: of its tests only the one that is asked for runs.
const FILTER = `#include <setjmp.h>
#include <stdarg.h>
#include <stddef.h>
#include <stdint.h>
#include <cmocka.h>
#include <stdlib.h>
__attribute__((constructor)) static void only_one(void)
{
    const char *name = getenv("FORELOCK_TEST");
    if (name) cmocka_set_test_filter(name);
}
`;

function fail(what) {
  console.error(`mutants: ${what}`);
  process.exit(1);
}

function options() {
  const { values, positionals } = parseArgs({
    allowPositionals: true,
    options: {
      all: { type: 'boolean' },
      built: { type: 'boolean' },
      jobs: { type: 'string' },
      room: { type: 'string' },
      shard: { type: 'string' },
    },
  });
  const [, share, shares] = /^(\d+)\/(\d+)$/.exec(values.shard ?? '1/1') ?? [];
  if (!share) fail(`--shard ${values.shard}: not like 1/4`);
  const jobs = Number(values.jobs ?? (availableParallelism?.() || cpus().length));
  return { ...values, names: positionals, share: Number(share), shares: Number(shares), jobs };
}

// The faults that were asked for.
function chosen(faults, { names, room, share, shares }) {
  for (const name of names)
    if (!faults.some((fault) => fault.name === name)) fail(`there is no fault ${name}`);
  return faults
    .filter((fault) => !names.length || names.includes(fault.name))
    .filter((fault) => !room || fault.room === room)
    .filter((_, i) => i % shares === share - 1);
}

// Puts the text of a fault into its file, where the old one must stand exactly once.
function seeded(fault) {
  const text = readFileSync(join(ROOT, fault.source), 'utf8');
  const [before, after, more] = text.split(fault.old.join('\n'));
  if (after === undefined || more !== undefined) return null;
  return before + fault.new.join('\n') + after;
}

class Trial {
  constructor(build, work, every) {
    Object.assign(this, { build, work, every, testsOf: testIndex() });
  }

  // The programs to run for a fault, or what hinders it.
  programs(fault) {
    const paths = this.every
      ? filesBelow(join(ROOT, 'tests/unit', fault.room), '.c').filter((path) =>
          /cmocka_unit_test/.test(readFileSync(path, 'utf8')),
        )
      : this.testsOf(fault.room, fault.test).map((path) => join(ROOT, path));
    if (!paths.length) return `no test ${fault.test}`;
    if (!this.every && paths.length > 1) return `${fault.test} is in ${paths.join(' and ')}`;
    return [...new Set(paths.map((path) => this.build.programOf(path)))];
  }

  async prepare(faults) {
    const filter = join(this.work, 'filter');
    writeFileSync(`${filter}.c`, FILTER);
    const { code, said } = await this.build.run(`cc -c ${filter}.c -o ${filter}.o`);
    if (code) fail(`the filter does not compile: ${said}`);
    this.filter = `${filter}.o`;
    const found = faults.map((fault) => this.programs(fault));
    const programs = [...new Set(found.filter(Array.isArray).flat())];
    if (!this.built) this.build.make(programs);
    for (const program of programs) {
      const { code: failed, said: log } = await this.build.run(`timeout 120 bin/${program}`);
      if (failed) fail(`${program} fails without any fault: ${failedTests(log) || log}`);
    }
  }

  // One fault: seed, compile the one file, link, run. Its verdict, as printed.
  async verdict(fault) {
    const dir = join(this.work, fault.name);
    const rotten = (why) => `rotten    ${fault.name}: ${why}`;
    const text = seeded(fault);
    if (text === null) return rotten(`its text does not stand exactly once in ${fault.source}`);
    const programs = this.programs(fault);
    if (!Array.isArray(programs)) return rotten(programs);
    mkdirSync(dir);
    const file = join(dir, basename(fault.source));
    writeFileSync(file, text);
    const source = join(ROOT, fault.source);
    const compiled = await this.build.run(this.build.compile(source, file, `${file}.o`));
    if (compiled.code) return rotten(`it does not compile: ${compiled.said.split('\n')[0]}`);
    const failing = [];
    for (const program of programs) {
      const exe = join(dir, program);
      const own = this.build.objectOf(source);
      const link = this.build.link(program, [`${file}.o`, this.filter], own, exe);
      const linked = await this.build.run(link);
      if (linked.code) return rotten(`it does not link: ${linked.said.split('\n')[0]}`);
      const only = this.every ? '' : `env FORELOCK_TEST=${fault.test} `;
      const { code, said } = await this.build.run(`${only}timeout ${this.every ? 120 : 60} ${exe}`);
      if (code) failing.push(this.every ? failedTests(said) || `${program} crashed` : fault.test);
    }
    rmSync(dir, { recursive: true });
    if (this.every) return `${fault.name}: ${failing.join(' ')}`;
    if (!failing.length) return `survived  ${fault.name}: ${fault.test} passes`;
    return `caught    ${fault.name.padEnd(36)} ${fault.test}`;
  }
}

function failedTests(log) {
  const names = [...log.matchAll(/^\[  FAILED  \] (?:\S+: )?(\w+)$/gm)].map((m) => m[1]);
  return [...new Set(names)].sort().join(' ');
}

// Tries all, as many at a time as there are jobs, and prints the verdicts in the order of the tables.
async function tryAll(trial, faults, jobs) {
  const verdicts = [];
  let next = 0;
  let printed = 0;
  const worker = async () => {
    while (next < faults.length) {
      const i = next++;
      verdicts[i] = await trial.verdict(faults[i]);
      while (verdicts[printed] !== undefined) console.log(verdicts[printed++]);
    }
  };
  await Promise.all(Array.from({ length: jobs }, worker));
  return verdicts;
}

const asked = options();
const work = mkdtempSync(join(tmpdir(), 'forelock-mutants-'));
process.on('exit', () => rmSync(work, { recursive: true, force: true }));
try {
  const faults = chosen(readFaults(), asked);
  const trial = new Trial(
    new Build(process.env.FORELOCK_BUILD ?? join(ROOT, 'build')),
    work,
    asked.all,
  );
  trial.built = asked.built;
  await trial.prepare(faults);
  const verdicts = await tryAll(trial, faults, asked.jobs);
  if (!asked.all) {
    const caught = verdicts.filter((verdict) => verdict.startsWith('caught')).length;
    console.log(`${caught} of ${faults.length} faults caught`);
    process.exitCode = caught === faults.length && caught > 0 ? 0 : 1;
  }
} catch (error) {
  fail(error.message);
}
