// The check of the architecture, checked: a small house that is in order, and one violation of each kind.
import assert from 'node:assert/strict';
import test from 'node:test';
import { execFileSync, spawnSync } from 'node:child_process';
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const CHECK = join(dirname(fileURLToPath(import.meta.url)), 'check.mjs');
const GUIDE = `# A house

| folder | what it holds | what it may include |
| --- | --- | --- |
| \`daemon/low\` | the ground | nothing |
| \`daemon/high\` | what stands on it | \`low\` |

## Add a stone

\`low/stone.h\` and \`stone.c\`, its row in \`docs/stones.md\`, and \`low_stone_weight()\`.

## Elsewhere

\`nowhere/at_all.c\` is not a place to add anything.
`;

// A function of as many lines, its first and last with them.
const ofLines = (name, lines) => `int ${name}(int n)\n{\n${'    n++;\n'.repeat(lines - 4)}    return n;\n}\n`;
const script = (lines) => `export function long(n) {\n${'  n++;\n'.repeat(lines - 2)}}\n`;

const HOUSE = {
  'DEVELOPERS.md': GUIDE,
  'docs/stones.md': 'A row.\n',
  'daemon/low/stone.h': '#pragma once\nint low_stone_weight(int n);\n',
  'daemon/low/stone.c': `#include "low/stone.h"\n\n${ofLines('low_stone_weight', 60)}`,
  'daemon/low/wall.h': '#pragma once\n#include "low/stone.h"\nint low_wall_weight(int n);\n',
  'daemon/low/wall.c':
    '#include "low/wall.h"\n\nint low_wall_weight(int n)\n{\n    return low_stone_weight(n);\n}\n',
  'daemon/high/roof.c':
    '#include "low/wall.h"\n\nint high_roof_weight(void);\n\nint high_roof_weight(void)\n{\n    return low_wall_weight(7);\n}\n',
  'daemon/high/roof.js': script(60),
  'contrib/tool.sh': '#!/bin/sh\necho\n',
  'tests/roof.test.mjs': '//\n'.repeat(700),
};

// Compiles a source as CMake would: its line of compile_commands.json.
function compiled(root, source) {
  const object = join(root, 'build', `${source}.o`);
  mkdirSync(dirname(object), { recursive: true });
  const words = ['-w', '-I', join(root, 'daemon'), '-o', object, '-c', join(root, source)];
  execFileSync('cc', words);
  return { command: `cc ${words.join(' ')}`, directory: root, file: join(root, source) };
}

// Writes and builds a house, and checks it: what the check printed, a line each.
function check(changes) {
  const root = mkdtempSync(join(tmpdir(), 'forelock-house-'));
  try {
    const files = Object.entries({ ...HOUSE, ...changes }).filter(([, text]) => text !== null);
    for (const [file, text] of files) {
      mkdirSync(join(root, dirname(file)), { recursive: true });
      writeFileSync(join(root, file), text);
    }
    const sources = files.map(([file]) => file).filter((file) => file.endsWith('.c'));
    const commands = sources.map((source) => compiled(root, source));
    writeFileSync(join(root, 'build/compile_commands.json'), JSON.stringify(commands));
    const { status, stdout, stderr } = spawnSync('node', [CHECK, '--root', root], { encoding: 'utf8' });
    assert.equal(stderr, '');
    const lines = stdout.split('\n').filter((line) => /^\S+:\d+: /.test(line));
    assert.equal(status, lines.length ? 1 : 0, stdout);
    return lines;
  } finally {
    rmSync(root, { recursive: true });
  }
}

test('a house in order', () => assert.deepEqual(check({}), []));

// One violation of each kind: what is changed, and all that the check may say of it.
const include = (file, path) => ({ [file]: `#include "${path}"\n${HOUSE[file]}` });
const VIOLATIONS = [
  [
    'an include that the table does not allow',
    { 'daemon/high/roof.h': '', ...include('daemon/low/stone.c', 'high/roof.h') },
    [
      /^daemon\/low\/stone.c:1: low may not include high\/roof.h$/,
      /^daemon\/high\/roof.c:1: a circle of 2 rooms: high low/,
    ],
  ],
  [
    'a room that the table does not list',
    { 'daemon/side/door.h': '' },
    [/^DEVELOPERS.md:1: no row for the room daemon\/side$/],
  ],
  [
    'a row for a room that is not there',
    { 'DEVELOPERS.md': GUIDE.replace('| `daemon/high`', '| `daemon/gone` | | nothing |\n$&') },
    [/^DEVELOPERS.md:6: a row for daemon\/gone, which is not there$/],
  ],
  [
    'a room that may include one that is not there',
    { 'DEVELOPERS.md': GUIDE.replace('`low` |', '`low gone` |') },
    [/^DEVELOPERS.md:6: high may include gone, which is not there$/],
  ],
  [
    'a circle of headers',
    include('daemon/low/stone.h', 'low/wall.h'),
    [/^daemon\/low\/stone.h:1: a circle of 2 headers: daemon\/low\/stone.h daemon\/low\/wall.h/],
  ],
  [
    'a circle of files by what they use of each other',
    {
      'daemon/low/stone.c': `${HOUSE['daemon/low/stone.c']}int low_stone_wall(int n);\nint low_stone_wall(int n)\n{\n    return low_wall_weight(n);\n}\n`,
    },
    [/^daemon\/low\/stone.c:\d+: a circle of 2 files: daemon\/low\/stone.c daemon\/low\/wall.c/],
  ],
  [
    'a circle of rooms by what they use of each other',
    {
      'daemon/low/well.c':
        'int high_roof_weight(void);\nint low_well(void)\n{\n    return high_roof_weight();\n}\n',
    },
    [/^daemon\/high\/roof.c:1: a circle of 2 rooms: high low/],
  ],
  [
    "an external name without its room's prefix",
    { 'daemon/low/well.c': 'static int low;\nint well_depth(void)\n{\n    return low;\n}\n' },
    [/^daemon\/low\/well.c:2: the external name well_depth does not begin with low_$/],
  ],
  [
    'a function that is too long',
    { 'daemon/low/stone.c': `#include "low/stone.h"\n\n${ofLines('low_stone_weight', 61)}` },
    [/^daemon\/low\/stone.c:3: low_stone_weight has 61 lines, more than 60$/],
  ],
  [
    'a function of a script that is too long',
    { 'daemon/high/roof.js': script(61) },
    [/^daemon\/high\/roof.js:1: long has 61 lines, more than 60$/],
  ],
  [
    'a file that is too long',
    { 'contrib/tool.sh': `#!/bin/sh\n${'#\n'.repeat(500)}` },
    [/^contrib\/tool.sh:501: 501 lines, more than 500$/],
  ],
  [
    'a test that is too long',
    { 'tests/roof.test.mjs': '//\n'.repeat(701) },
    [/^tests\/roof.test.mjs:701: 701 lines, more than 700$/],
  ],
  [
    'a place to add something that is not there',
    { 'docs/stones.md': null, 'DEVELOPERS.md': GUIDE.replace('stone.c', 'pebble.c') },
    [/^DEVELOPERS.md:10: no place pebble.c$/, /^DEVELOPERS.md:10: no place docs\/stones.md$/],
  ],
  [
    'a name to add something at that is not there',
    { 'DEVELOPERS.md': GUIDE.replace('low_stone_weight()', 'low_stone_color()') },
    [/^DEVELOPERS.md:10: no name low_stone_color\(\) in daemon\/$/],
  ],
];
for (const [name, changes, expected] of VIOLATIONS)
  test(name, () => {
    const lines = check(changes);
    assert.equal(lines.length, expected.length, lines.join('\n'));
    expected.forEach((pattern) => assert.ok(lines.some((l) => pattern.test(l)), lines.join('\n')));
  });
