// The house as it stands on the disk: its files, its rooms, and what DEVELOPERS.md says of them.
import { existsSync, readFileSync, readdirSync } from 'node:fs';
import { join } from 'node:path';

// Folders that hold what others wrote, or data.
const PASSED_OVER = new Set(['node_modules', 'corpus', 'build']);

function below(root, folder) {
  const path = join(root, folder);
  if (!existsSync(path)) return [];
  return readdirSync(path, { withFileTypes: true })
    .sort((a, b) => (a.name < b.name ? -1 : 1))
    .flatMap((entry) => {
      const inner = `${folder}/${entry.name}`;
      if (!entry.isDirectory()) return [inner];
      return PASSED_OVER.has(entry.name) ? [] : below(root, inner);
    });
}

// The rooms that a cell of the table names, out of all of them.
function named(cell, rooms) {
  const words = [...cell.matchAll(/`([^`]+)`/g)].flatMap((m) => m[1].split(/\s+/));
  if (/^all but\b/.test(cell)) return rooms.filter((room) => !words.includes(room));
  if (/^all\b/.test(cell)) return rooms;
  return words;
}

export class House {
  constructor(root) {
    this.root = root;
    this.files = ['daemon', 'contrib', 'tests'].flatMap((folder) => below(root, folder));
    this.rooms = [...new Set(this.files.map((f) => this.roomOf(f)).filter(Boolean))];
    this.texts = new Map();
    this.guide = this.read('DEVELOPERS.md').split('\n');
    this.table = this.#table();
  }

  read(file) {
    if (!this.texts.has(file)) this.texts.set(file, readFileSync(join(this.root, file), 'utf8'));
    return this.texts.get(file);
  }

  lines(file) {
    return this.read(file).replace(/\n$/, '').split('\n');
  }

  // Files outside of these folders that a guide may name.
  others() {
    this.outer ??= ['docs', 'config'].flatMap((folder) => below(this.root, folder));
    return this.outer;
  }

  // A file's room, which is the first folder below daemon/; null for a file in no room.
  roomOf(file) {
    return /^daemon\/([^/]+)\/.+/.exec(file)?.[1] ?? null;
  }

  // The C files of the rooms.
  sources(ending = /\.[ch]$/) {
    return this.files.filter((file) => this.roomOf(file) && ending.test(file));
  }

  // The table of rooms: room to { line, may }.
  #table() {
    const rows = new Map();
    this.guide.forEach((text, i) => {
      const [, room, cell] = /^\| `daemon\/([^/`]+)\/?` \|.*\| ([^|]+) \|$/.exec(text) ?? [];
      if (room) rows.set(room, { line: i + 1, cell });
    });
    const all = [...rows.keys()];
    for (const row of rows.values()) row.may = named(row.cell.trim(), all);
    return rows;
  }
}
