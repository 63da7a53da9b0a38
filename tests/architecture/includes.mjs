// Who includes what: along the table of DEVELOPERS.md, and in no circle.
import { posix } from 'node:path';
import { join } from './graph.mjs';

// Every include of a file of the house: { file, line, to }.
export function includes(house) {
  const known = new Set(house.files);
  return house.sources().flatMap((file) =>
    house.lines(file).flatMap((text, i) => {
      const [, path] = /^\s*#\s*include\s+"([^"]+)"/.exec(text) ?? [];
      if (!path) return [];
      const beside = posix.join(posix.dirname(file), path);
      return [{ file, line: i + 1, to: known.has(beside) ? beside : `daemon/${path}` }];
    }),
  );
}

export function checkTable(house, tell) {
  for (const room of house.rooms)
    if (!house.table.has(room)) tell('DEVELOPERS.md', 1, `no row for the room daemon/${room}`, room);
  for (const [room, { line, may }] of house.table) {
    if (!house.rooms.includes(room))
      tell('DEVELOPERS.md', line, `a row for daemon/${room}, which is not there`, room);
    for (const other of may)
      if (!house.rooms.includes(other))
        tell('DEVELOPERS.md', line, `${room} may include ${other}, which is not there`, room);
  }
}

export function checkIncludes(house, all, tell) {
  for (const { file, line, to } of all) {
    const room = house.roomOf(file);
    const other = house.roomOf(to);
    if (!other || other === room || house.table.get(room)?.may.includes(other)) continue;
    tell(file, line, `${room} may not include ${to.slice('daemon/'.length)}`, room);
  }
}

// The graph of the headers of one room.
export function headerGraph(house, all, room) {
  const graph = new Map();
  for (const { file, line, to } of all)
    if (file !== to && house.roomOf(file) === room && house.roomOf(to) === room)
      join(graph, file, to, { file, line, what: 'includes it' });
  return graph;
}
