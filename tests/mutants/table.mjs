// Reads the tables of seeded faults. A fault drops, turns or forgets one thing in one source file, and one
// named unit test must fail.
//
// tests/mutants/<room>/<file>.txt speaks of daemon/<room>/<file>.c, also in a folder of the room. A fault is
// a block of lines: `- ` lines are text of the source as it stands, found exactly once; `+ ` lines are what
// they become. `rule`, `clause`, `holds` and `test` make docs/rules.md: the rule that the fault breaks, where
// it comes from, the function that holds it, the test that fails.
import { existsSync, readFileSync, readdirSync } from 'node:fs';
import { dirname, join, relative } from 'node:path';
import { fileURLToPath } from 'node:url';

export const HERE = dirname(fileURLToPath(import.meta.url));
export const ROOT = join(HERE, '../..');
const KEYS = ['rule', 'clause', 'holds', 'test'];

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
      else if (KEYS.includes(key) && !fault[key]) fault[key] = value;
      else wrong(i, `neither a text nor a key: ${line}`);
    });
  for (const { line, name, old, test } of faults) {
    if (!old.length) wrong(line - 1, `${name} says no text that it changes`);
    if (!test) wrong(line - 1, `${name} says no test`);
  }
  return faults;
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
    for (const [, name] of readFileSync(path, 'utf8').matchAll(/cmocka_unit_test\w*\(\s*(\w+)/g))
      index.set(name, [...(index.get(name) ?? []), relative(ROOT, path)]);
  return (room, name) => {
    const all = index.get(name) ?? [];
    const own = all.filter((path) => path.startsWith(`tests/unit/${room}/`));
    return own.length ? own : all;
  };
}
