// What the person who looks may ask at each position and which step leads on, as the daemon judges it:
// the pages know no rules. A document is read anew when something changed that it may rest on, one at a
// time however much changes, and until the new one is here the old one is not fresh.
import { getJson } from './api.js';

const AGAIN_MS = 2000;

export class Gates {
  #site;
  #changed;
  #documents = new Map(); // by position
  #wanted = [];
  #stale = new Set();
  #reading = null; // the position that is being read
  #timer;

  // `changed()` is called when a document came.
  constructor(site, changed) {
    this.#site = site;
    this.#changed = changed;
  }

  // The positions that are looked at; what is known of others is forgotten.
  want(positions) {
    this.#wanted = positions;
    for (const known of [...this.#documents.keys(), ...this.#stale])
      if (!positions.includes(known)) this.#forget(known);
    for (const position of positions)
      if (!this.#documents.has(position)) this.#stale.add(position);
    this.#read();
  }

  // Something changed that the documents of these positions rest on (none named: all).
  touch(positions = this.#wanted) {
    for (const position of positions)
      if (this.#wanted.includes(position)) this.#stale.add(position);
    this.#read();
  }

  // The newest document of a position, or null; it may be old.
  of(position) {
    return this.#documents.get(position) ?? null;
  }

  // Whether nothing has changed since the document was judged.
  fresh(position) {
    return (
      this.#documents.has(position) && !this.#stale.has(position) && this.#reading !== position
    );
  }

  #forget(position) {
    this.#documents.delete(position);
    this.#stale.delete(position);
  }

  async #read() {
    if (this.#reading !== null) return;
    clearTimeout(this.#timer);
    for (;;) {
      const [position] = this.#stale;
      if (position === undefined) return;
      this.#stale.delete(position); // what changes from here on makes it stale again
      this.#reading = position;
      const came = await this.#fetch(position);
      this.#reading = null;
      if (!came) {
        if (this.#wanted.includes(position)) this.#stale.add(position);
        this.#timer = setTimeout(() => this.#read(), AGAIN_MS);
        return;
      }
      this.#changed();
    }
  }

  async #fetch(position) {
    const at = [this.#site, 'position', position].map(encodeURIComponent).join('/');
    try {
      const document = await getJson(`/api/${at}/gate`);
      if (this.#wanted.includes(position)) this.#documents.set(position, document);
      return true;
    } catch {
      return false;
    }
  }
}
