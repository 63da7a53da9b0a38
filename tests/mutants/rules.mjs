// Writes docs/rules.md from the rules in the sources, after checking that every fault is named by one rule,
// every rule by a fault of its file, and that every test is there. With --check it writes nothing and exits 1
// where the page differs.
import { readFileSync, writeFileSync } from 'node:fs';
import { basename, join, relative } from 'node:path';
import { ROOT, filesBelow, readFaults, readRules, testIndex } from './table.mjs';

const PAGE = join(ROOT, 'docs/rules.md');
const HEAD = `# The rules

Every rule that the code holds and a seeded fault tries, in one sentence; where it comes from; the function
that holds it; a unit test that fails without it; and the name of the fault. The page is written by
\`tests/mutants/rules\` from what stands above the functions and from the tables of faults below
\`tests/mutants/\`, and \`tests/mutants/run\` seeds every fault again and fails if one goes unnoticed.

A clause is a section of the external contract, and what it speaks of. Where a rule of the trade
stands behind it, that is named with how it was read: [P] in the rule's own text, [S] quoted by
another source, [M] from memory and unverified: that a method averages borderline runs is. The
edition that local authorities have in force comes first.

What a failed test that takes the dispenser out means: its own position is \`untested\` until a job
there returns; every other position of the dispenser is \`isolated-with\` the job on which it failed,
also after that job was cancelled, until a later record of the same test by the same rule passes or
a job on that position returns. It then comes back as any position does, never by time alone.
`;

function fail(lines) {
  for (const line of lines) console.error(`rules: ${line}`);
  process.exit(1);
}

// What of faults and rules does not fit the other.
function wrongIn(faults, rules, testsOf) {
  const wrong = [];
  const named = new Map();
  for (const { names, source, line } of rules)
    for (const name of names) {
      const fault = faults.find((f) => f.name === name);
      if (!fault) wrong.push(`${source}:${line}: there is no fault ${name}`);
      else if (fault.source !== source) wrong.push(`${source}:${line}: ${name} is a fault of ${fault.source}`);
      if (named.has(name)) wrong.push(`${source}:${line}: another rule names ${name} as well`);
      named.set(name, source);
    }
  for (const { name, room, source, test } of faults) {
    if (!named.has(name)) wrong.push(`${source}: no rule names the fault ${name}`);
    if (!testsOf(room, test).length) wrong.push(`${name}: there is no test ${test}`);
  }
  return wrong;
}

function page(faults, rules, testsOf) {
  const lines = [HEAD.trimEnd()];
  let last = null;
  for (const { rule, clause, holds, names, source } of rules) {
    if (source !== last) {
      last = source;
      lines.push('', `## ${source}`, '', '| rule | clause | held by | test | seeded fault |');
      lines.push('| --- | --- | --- | --- | --- |');
    }
    for (const name of names) {
      const { room, test } = faults.find((fault) => fault.name === name);
      const program = basename(testsOf(room, test)[0]);
      lines.push(`| ${rule} | ${clause} | \`${holds}\` | \`${program}:${test}\` | \`${name}\` |`);
    }
  }
  return `${lines.join('\n')}\n`;
}

try {
  const faults = readFaults();
  const testsOf = testIndex();
  const sources = filesBelow(join(ROOT, 'daemon'), '.c').map((path) => relative(ROOT, path));
  const rules = sources.flatMap(readRules);
  const wrong = wrongIn(faults, rules, testsOf);
  if (wrong.length) fail(wrong);
  const text = page(faults, rules, testsOf);
  if (process.argv[2] !== '--check') writeFileSync(PAGE, text);
  else if (readFileSync(PAGE, 'utf8') !== text)
    fail(['docs/rules.md is not what the sources say: run tests/mutants/rules']);
} catch (error) {
  fail([error.message]);
}
