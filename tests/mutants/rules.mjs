// Writes docs/rules.md from the rules in the sources, after checking that every fault is named by one rule,
// every rule by a fault of its file, that every test is there, and that no mark of the contract is without a
// rule. With --check it writes nothing and exits 1 where the page differs.
import { readFileSync, readdirSync, writeFileSync } from 'node:fs';
import { basename, join, relative } from 'node:path';
import { ROOT, filesBelow, readFaults, readRules, testIndex } from './table.mjs';

const PAGE = join(ROOT, 'docs/rules.md');
const HEAD = `# The rules

Every rule that the code holds and a seeded fault tries, in one sentence; where it comes from; the function
that holds it; a unit test that fails without it; and the name of the fault. The page is written by
\`tests/mutants/rules\` from what stands above the functions and from the tables of faults below
\`tests/mutants/\`, and \`tests/mutants/run\` seeds every fault again and fails if one goes unnoticed.

A clause is a section of the external contract, and what it speaks of; a mark is the contract's own, R1 to
R38, beside the sentence that the rule is. Where a rule of the trade
stands behind it, that is named with how it was read: [P] in the rule's own text, [S] quoted by
another source, [M] from memory and unverified: that a method averages borderline runs is. The
edition that local authorities have in force comes first.

What a failed test that takes the dispenser out means: its own position is \`untested\` until a job
there returns; every other position of the dispenser is \`isolated-with\` the job on which it failed,
also after that job was cancelled, until a later record of the same test by the same rule passes or
a job on that position returns. It then comes back as any position does, never by time alone.
`;

// The contract's marks, four of which it gives nothing.
const NOT_GIVEN = [8, 23, 24, 29];
const MARKS = Array.from({ length: 38 }, (_, i) => i + 1)
  .filter((number) => !NOT_GIVEN.includes(number))
  .map((number) => `R${number}`);
// Of what the pages alone say, where no function of the daemon holds it: a test from outside does.
const OF_PAGES = ['R33'];
const MARK = /^R\d+(, R\d+)*$/;

const marksOf = ({ clause }) =>
  clause
    .split('; ')
    .filter((part) => MARK.test(part))
    .flatMap((part) => part.split(', '));
const withoutMarks = (clause) =>
  clause
    .split('; ')
    .filter((part) => !MARK.test(part))
    .join('; ');

// Each mark's rules, as the names of their faults, and the tests from outside that are named after it.
function marked(rules) {
  const outside = readdirSync(join(ROOT, 'tests/outside')).filter((name) => name.endsWith('.test.mjs'));
  return MARKS.map((mark) => ({
    mark,
    names: rules.filter((rule) => marksOf(rule).includes(mark)).flatMap(({ names }) => names),
    outside: outside.filter((name) => name.startsWith(`r${mark.slice(1).padStart(2, '0')}-`)),
  }));
}

function wrongInMarks(rules) {
  const wrong = marked(rules)
    .filter(({ mark, names, outside }) => !(OF_PAGES.includes(mark) ? outside : names).length)
    .map(({ mark }) => `no ${OF_PAGES.includes(mark) ? 'test from outside' : 'rule'} has the mark ${mark}`);
  for (const rule of rules)
    for (const mark of marksOf(rule).filter((m) => !MARKS.includes(m)))
      wrong.push(`${rule.source}:${rule.line}: the contract has no mark ${mark}`);
  for (const { clause, source, line } of rules)
    if (/\bR\d/.test(withoutMarks(clause)))
      wrong.push(`${source}:${line}: a mark stands by itself, between semicolons: ${clause}`);
  return wrong;
}

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
  const lines = [HEAD.trimEnd(), '', '## The marks', '', 'What holds each: its rules, by their faults.', ''];
  lines.push('| mark | rules | tests from outside |', '| --- | --- | --- |');
  const quoted = (names) => names.map((name) => `\`${name}\``).join(', ');
  for (const { mark, names, outside } of marked(rules))
    lines.push(`| ${mark} | ${quoted(names) || 'of the pages'} | ${quoted(outside)} |`);
  let last = null;
  for (const one of rules) {
    const { rule, clause, holds, names, source } = one;
    if (source !== last) {
      last = source;
      lines.push('', `## ${source}`, '', '| rule | mark | clause | held by | test | seeded fault |');
      lines.push('| --- | --- | --- | --- | --- | --- |');
    }
    for (const name of names) {
      const { room, test } = faults.find((fault) => fault.name === name);
      const program = basename(testsOf(room, test)[0]);
      const cells = [rule, marksOf(one).join(', '), withoutMarks(clause), `\`${holds}\``];
      lines.push(`| ${[...cells, `\`${program}:${test}\``, `\`${name}\``].join(' | ')} |`);
    }
  }
  return `${lines.join('\n')}\n`;
}

try {
  const faults = readFaults();
  const testsOf = testIndex();
  const sources = filesBelow(join(ROOT, 'daemon'), '.c').map((path) => relative(ROOT, path));
  const rules = sources.flatMap(readRules);
  const wrong = [...wrongIn(faults, rules, testsOf), ...wrongInMarks(rules)];
  if (wrong.length) fail(wrong);
  const text = page(faults, rules, testsOf);
  if (process.argv[2] !== '--check') writeFileSync(PAGE, text);
  else if (readFileSync(PAGE, 'utf8') !== text)
    fail(['docs/rules.md is not what the sources say: run tests/mutants/rules']);
} catch (error) {
  fail([error.message]);
}
