// The places that DEVELOPERS.md names where it says how to add something: each has to be there.

const ENDING = /\.(c|h|js|mjs|md|txt|json|sh|css|html)$/;

// `<verb>` and `*` stand for any name, `…` for the rest of one.
function pattern(name) {
  const escaped = name.replace(/[.+^$(){}|[\]\\]/g, '\\$&');
  return escaped.replace(/<[^>]+>|\*/g, '[^/]+').replace(/…/g, '.*');
}

// The words in code of the "Add a ..." sections: { line, word }.
function words(guide) {
  const found = [];
  let inside = false;
  guide.forEach((text, i) => {
    if (text.startsWith('## ')) inside = text.startsWith('## Add ');
    if (inside) for (const [, word] of text.matchAll(/`([^`]+)`/g)) found.push({ line: i + 1, word });
  });
  return found;
}

function isThere(house, word, folder) {
  const path = word.replace(/\/$/, '');
  const places = [path, `daemon/${path}`, folder && `${folder}/${path}`].filter(Boolean);
  const known = [...house.files, ...house.others()];
  return places.some((place) => {
    const whole = new RegExp(`^${pattern(place)}${word.endsWith('/') ? '/' : '(/.*)?$'}`);
    return known.some((file) => whole.test(file));
  });
}

// A name of the sources: a function or constant with a room's prefix.
function nameIn(house, word) {
  const [, name, rest] = /^([A-Za-z]\w*_\w*)(…?)(?:\(.*\))?$/.exec(word) ?? [];
  const room = name && name.split('_')[0].toLowerCase();
  if (!name || !house.rooms.includes(room)) return null;
  return new RegExp(`\\b${name}${rest ? '' : '\\b'}`);
}

export function checkPlaces(house, tell) {
  let folder = null; // of the place named before, for a second file beside it
  for (const { line, word } of words(house.guide)) {
    const name = nameIn(house, word);
    if (name) {
      if (!house.sources(/./).some((file) => name.test(house.read(file))))
        tell('DEVELOPERS.md', line, `no name ${word} in daemon/`, null);
    } else if (/^[\w./*<>…-]+$/.test(word) && (word.includes('/') || ENDING.test(word))) {
      if (!isThere(house, word, folder)) tell('DEVELOPERS.md', line, `no place ${word}`, null);
      if (word.includes('/')) {
        const at = word.replace(/\/[^/]*$/, '');
        folder = isThere(house, `daemon/${at}`) ? `daemon/${at}` : at;
      }
    }
  }
}
