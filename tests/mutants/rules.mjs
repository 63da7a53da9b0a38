// Writes docs/rules.md from the tables of faults, after checking that every function and test they name is
// there. With --check it writes nothing and exits 1 where the page differs.
import { readFileSync, writeFileSync } from 'node:fs';
import { basename, join } from 'node:path';
import { ROOT, readFaults, testIndex } from './table.mjs';

const PAGE = join(ROOT, 'docs/rules.md');
const HEAD = `# The rules

Every rule that the code holds and a seeded fault tries, in one sentence; where it comes from; the function
that holds it; a unit test that fails without it; and the name of the fault. The page is written by
\`tests/mutants/rules\` from the tables of faults below \`tests/mutants/\`, and \`tests/mutants/run\` seeds every
fault again and fails if one goes unnoticed.

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

// What a fault names that is not there.
function wrongIn(fault, testsOf) {
  const wrong = [];
  for (const key of ['rule', 'clause', 'holds'])
    if (!fault[key]) wrong.push(`${fault.name} gives no ${key}`);
  const text = readFileSync(join(ROOT, fault.source), 'utf8');
  if (!new RegExp(`^[a-z].*[ *]${fault.holds}(\\(| = \\{)`, 'm').test(text))
    wrong.push(`no function or row ${fault.holds} in ${fault.source}`);
  if (!testsOf(fault.room, fault.test).length) wrong.push(`no test ${fault.test}`);
  return wrong;
}

function page(faults, testsOf) {
  const lines = [HEAD.trimEnd()];
  let source = null;
  for (const fault of faults) {
    if (fault.source !== source) {
      source = fault.source;
      lines.push('', `## ${source}`, '', '| rule | clause | held by | test | seeded fault |');
      lines.push('| --- | --- | --- | --- | --- |');
    }
    const program = basename(testsOf(fault.room, fault.test)[0]);
    lines.push(
      `| ${fault.rule} | ${fault.clause} | \`${fault.holds}\` | \`${program}:${fault.test}\` | \`${fault.name}\` |`,
    );
  }
  return `${lines.join('\n')}\n`;
}

try {
  const faults = readFaults();
  const testsOf = testIndex();
  const wrong = faults.flatMap((fault) => wrongIn(fault, testsOf));
  if (wrong.length) fail(wrong);
  const text = page(faults, testsOf);
  if (process.argv[2] !== '--check') writeFileSync(PAGE, text);
  else if (readFileSync(PAGE, 'utf8') !== text)
    fail(['docs/rules.md is not what the tables say: run tests/mutants/rules']);
} catch (error) {
  fail([error.message]);
}
