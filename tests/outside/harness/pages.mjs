// The pages' scripts as modules of Node: copied into one folder, as they are served.
import { cpSync, mkdtempSync, readdirSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath, pathToFileURL } from 'node:url';

export const PAGES = join(dirname(fileURLToPath(import.meta.url)), '../../../daemon/page');

const made = [];
process.on('exit', () => made.forEach((dir) => rmSync(dir, { recursive: true, force: true })));

// A folder with the scripts of these folders of the pages.
export function flat(...folders) {
  const dir = mkdtempSync(join(tmpdir(), 'forelock-pages-'));
  made.push(dir);
  for (const folder of folders)
    for (const name of readdirSync(join(PAGES, folder)).filter((n) => n.endsWith('.js')))
      cpSync(join(PAGES, folder, name), join(dir, name));
  writeFileSync(join(dir, 'package.json'), '{"type":"module"}');
  return dir;
}

export const load = (dir, name) => import(pathToFileURL(join(dir, name)));
