// Says where the house breaks its own rules: what a file may include (the table of DEVELOPERS.md), circles of
// files and of rooms, names without their room's prefix, files and functions that are too long, and places
// that DEVELOPERS.md names and that are not there. Exits 1 if there is any.
//
// Usage: check [--root DIR] [--build DIR] [ROOM...]     reads the objects of a build that is up to date
import { join } from 'node:path';
import { dirname } from 'node:path';
import { fileURLToPath } from 'node:url';
import { parseArgs } from 'node:util';
import { circles, wayRound } from './graph.mjs';
import { House } from './house.mjs';
import { checkIncludes, checkTable, headerGraph, includes } from './includes.mjs';
import { checkPlaces } from './places.mjs';
import { checkSizes } from './sizes.mjs';
import { checkPrefixes, roomGraph, symbols, unbuilt, useGraph, uses } from './symbols.mjs';

function checkCircles(graph, kind, room, tell) {
  for (const group of circles(graph)) {
    const steps = wayRound(graph, group);
    const way = steps.map(({ to, reason }) => `${reason.file}:${reason.line} ${reason.what} (${to})`);
    const { file, line } = steps[0].reason;
    tell(
      file,
      line,
      `a circle of ${group.length} ${kind}: ${group.join(' ')}; round it goes:\n    ${way.join('\n    ')}`,
      room,
    );
  }
}

function checkAll(house, build, tell) {
  const allIncludes = includes(house);
  const found = symbols(house, build);
  const allUses = uses(house, found);
  for (const file of unbuilt(house, found)) tell(file, 1, 'is not built', house.roomOf(file));
  checkTable(house, tell);
  checkIncludes(house, allIncludes, tell);
  for (const room of house.rooms) {
    checkCircles(headerGraph(house, allIncludes, room), 'headers', room, tell);
    checkCircles(useGraph(house, allUses, room), 'files', room, tell);
  }
  checkCircles(roomGraph(house, allIncludes, allUses), 'rooms', null, tell);
  checkPrefixes(house, found, tell);
  checkSizes(house, tell);
  checkPlaces(house, tell);
}

const { values, positionals: only } = parseArgs({
  allowPositionals: true,
  options: { root: { type: 'string' }, build: { type: 'string' } },
});
const root = values.root ?? join(dirname(fileURLToPath(import.meta.url)), '../..');
const broken = [];
try {
  checkAll(new House(root), values.build ?? join(root, 'build'), (file, line, what, room) => {
    if (!only.length || only.includes(room)) broken.push(`${file}:${line}: ${what}`);
  });
} catch (error) {
  console.error(`architecture: ${error.message}`);
  process.exit(2);
}
for (const line of broken) console.log(line);
if (broken.length) {
  console.log(`${broken.length} places where the house breaks its rules`);
  process.exitCode = 1;
}
