// What the built objects give to each other and take from each other, as nm reads it.
import { execFileSync } from 'node:child_process';
import { existsSync, readFileSync } from 'node:fs';
import { relative, resolve } from 'node:path';
import { join } from './graph.mjs';

// Rooms whose external names begin otherwise than with the room's name.
const PREFIXES = { serve: ['daemon_', 'serve_'] };

// Source to { gives, takes }, the sets of its external names, for every C file of the rooms.
export function symbols(house, build) {
  const commands = JSON.parse(readFileSync(`${build}/compile_commands.json`, 'utf8'));
  const objects = new Map();
  for (const { command, directory, file } of commands) {
    const source = relative(house.root, file);
    const object = resolve(directory, / -o (\S+)/.exec(command)[1]);
    const own = object.includes(`/daemon/${house.roomOf(source)}/`);
    if (house.roomOf(source) && own && house.files.includes(source)) objects.set(object, source);
  }
  const lacking = [...objects].filter(([object]) => !existsSync(object)).map(([, source]) => source);
  if (lacking.length) throw new Error(`not built: ${lacking.join(' ')}`);
  const out = execFileSync('nm', ['-A', '-g', '-P', ...objects.keys()], {
    encoding: 'utf8',
    maxBuffer: 1 << 28,
  });
  const found = new Map([...objects.values()].map((s) => [s, { gives: new Set(), takes: new Set() }]));
  for (const line of out.split('\n')) {
    const [, object, name, type] = /^(.+?): (\S+) (\w)/.exec(line) ?? [];
    if (object) found.get(objects.get(object))[type === 'U' ? 'takes' : 'gives'].add(name);
  }
  return found;
}

export function unbuilt(house, found) {
  return house.sources(/\.c$/).filter((source) => !found.has(source));
}

function lineOf(house, file, pattern) {
  return house.lines(file).findIndex((text) => pattern.test(text)) + 1 || 1;
}

export function checkPrefixes(house, found, tell) {
  for (const [file, { gives }] of found) {
    const room = house.roomOf(file);
    const prefixes = PREFIXES[room] ?? [`${room}_`];
    for (const name of gives) {
      if (name === 'main' || prefixes.some((prefix) => name.startsWith(prefix))) continue;
      const line = lineOf(house, file, new RegExp(`^[a-z].*\\b${name}\\b`));
      tell(file, line, `the external name ${name} does not begin with ${prefixes.join(' or ')}`, room);
    }
  }
}

// Who takes a name of whom: every use { file, line, to, name }, inside the rooms and across.
export function uses(house, found) {
  const givers = new Map();
  for (const [file, { gives }] of found) for (const name of gives) givers.set(name, file);
  return [...found].flatMap(([file, { takes }]) =>
    [...takes]
      .filter((name) => givers.has(name))
      .map((name) => ({
        file,
        name,
        to: givers.get(name),
        line: lineOf(house, file, new RegExp(`\\b${name}\\b`)),
      })),
  );
}

// The graph of the files of one room.
export function useGraph(house, all, room) {
  const graph = new Map();
  for (const { file, line, name, to } of all)
    if (house.roomOf(file) === room && house.roomOf(to) === room)
      join(graph, file, to, { file, line, what: `uses ${name}` });
  return graph;
}

// The graph of the rooms: by what their files include and use.
export function roomGraph(house, allIncludes, allUses) {
  const graph = new Map();
  const both = [
    ...allIncludes.map((x) => ({ ...x, what: `includes ${x.to}` })),
    ...allUses.map((x) => ({ ...x, what: `uses ${x.name}` })),
  ];
  for (const { file, line, to, what } of both) {
    const [room, other] = [house.roomOf(file), house.roomOf(to)];
    if (room && other && room !== other) join(graph, room, other, { file, line, what });
  }
  return graph;
}
