// Reads the tables of seeded faults. A fault drops, turns or forgets one thing in one source file, and one
// named unit test must fail.
//
// tests/mutants/<room>/<file>.txt speaks of daemon/<room>/<file>.c, also in a folder of the room. A fault is
// a block of lines: its name, the test that must fail, and the texts: `- ` lines are text of the source as it
// stands, found exactly once; `+ ` lines are what they become.
//
// The rule that a fault breaks stands in the source, above the function or the row that holds it:
//
//   // Rule (3, Hearing): A copy refreshes nothing. [at-equal-taken, seq-equal-taken]
//
// its clause, its sentence and the names of its faults, over as many lines as it needs, after whatever else is
// said of the function. tests/mutants/rules makes docs/rules.md of all of them.
import { existsSync, readFileSync, readdirSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';

export const HERE = dirname(fileURLToPath(import.meta.url));
export const ROOT = join(HERE, '../..');
const RULE = /^Rule \((.*?)\): (.*) \[([a-z0-9, -]+)\]$/;

// All files below a folder whose names end so, in order of the alphabet.
export function filesBelow(folder, ending) {
  if (!existsSync(folder)) return [];
  return readdirSync(folder, { withFileTypes: true })
    .sort((a, b) => (a.name < b.name ? -1 : 1))
    .flatMap((entry) => {
      const path = join(folder, entry.name);
      if (entry.isDirectory()) return filesBelow(path, ending);
      return entry.name.endsWith(ending) ? [path] : [];
    });
}

function oneTable(path) {
  const place = relative(HERE, path).slice(0, -'.txt'.length);
  const source = join('daemon', `${place}.c`);
  const faults = [];
  const wrong = (i, what) => {
    throw new Error(`${relative(ROOT, path)}:${i + 1}: ${what}`);
  };
  if (!existsSync(join(ROOT, source))) wrong(0, `there is no ${source}`);
  let fault = null;
  readFileSync(path, 'utf8')
    .split('\n')
    .forEach((line, i) => {
      const [, key, value] = /^(\w+): (.+)$/.exec(line) ?? [];
      if (line === '' || line.startsWith('#')) fault = null;
      else if (key === 'fault') {
        fault = { name: value, room: place.split('/')[0], source, old: [], new: [], line: i + 1 };
        faults.push(fault);
      } else if (!fault) wrong(i, 'a line outside of a fault');
      else if (line.startsWith('- ')) fault.old.push(line.slice(2));
      else if (line.startsWith('+ ')) fault.new.push(line.slice(2));
      else if (key === 'test' && !fault.test) fault.test = value;
      else wrong(i, `neither a text nor a key: ${line}`);
    });
  for (const { line, name, old, test } of faults) {
    if (!old.length) wrong(line - 1, `${name} says no text that it changes`);
    if (!test) wrong(line - 1, `${name} says no test`);
  }
  return faults;
}

// The rules of one source: { clause, rule, names, holds, line }. Throws where one
// stands above nothing that could hold it.
export function readRules(source) {
  const lines = readFileSync(join(ROOT, source), 'utf8').split('\n');
  const wrong = (i, what) => {
    throw new Error(`${source}:${i + 1}: ${what}`);
  };
  const rules = [];
  lines.forEach((first, i) => {
    if (!first.startsWith('// Rule (')) return;
    const said = [];
    let end = i;
    const whole = () => RULE.exec(said.join(' '));
    for (; lines[end].startsWith('// ') && !whole(); end++) said.push(lines[end].slice(3).trim());
    if (!whole()) wrong(i, 'a rule that names no fault: it ends with [fault, ...]');
    const [, clause, rule, names] = whole();
    while (lines[end].startsWith('//')) end++;
    const [, holds] = /^[a-z].*[ *](\w+)(?:\(|(?:\[.*\])? = \{)/.exec(lines[end]) ?? [];
    if (!holds) wrong(i, 'a rule that stands above no function and no row');
    rules.push({ clause, rule, holds, names: names.split(', '), source, line: i + 1 });
  });
  return rules;
}

// The rooms that have seeded faults.
export function rooms() {
  const folders = readdirSync(HERE, { withFileTypes: true }).filter((entry) => entry.isDirectory());
  return folders.map((entry) => entry.name).sort();
}

// All faults, room by room and file by file. Throws what is wrong with a table.
export function readFaults() {
  const faults = rooms()
    .flatMap((room) => filesBelow(join(HERE, room), '.txt'))
    .flatMap(oneTable);
  const names = new Set();
  for (const { name } of faults) {
    if (names.has(name)) throw new Error(`two faults are named ${name}`);
    names.add(name);
  }
  return faults;
}

// Where each unit test is declared: its name to the paths of its programs, those of the room first.
export function testIndex() {
  const index = new Map();
  for (const path of filesBelow(join(ROOT, 'tests/unit'), '.c'))
    for (const [, name] of readFileSync(path, 'utf8').matchAll(/(?:cmocka_unit_test\w*|\bTEST)\(\s*(\w+)/g))
      index.set(name, [...(index.get(name) ?? []), relative(ROOT, path)]);
  return (room, name) => {
    const all = index.get(name) ?? [];
    const own = all.filter((path) => path.startsWith(`tests/unit/${room}/`));
    return own.length ? own : all;
  };
}
