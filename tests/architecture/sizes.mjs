// How long files and functions are. The sources are formatted, so that a function ends at the first closing
// brace that stands as far left as its first line.
const FUNCTION_LINES = 60;
const LIMITS = [
  [/^(daemon|contrib)\//, 500],
  [/^tests\//, 700],
];
const SOURCE = /\.(c|h|js|mjs|css|html|sh|txt)$|^[^.]+$/;

function indent(text) {
  return text.length - text.trimStart().length;
}

// The functions of a file in C: { name, line, length }.
function inC(lines) {
  const found = [];
  let start = 0;
  lines.forEach((text, i) => {
    if (/^[A-Za-z_].*\(/.test(text) && !text.endsWith(';')) start = i;
    if (text !== '{' && !/^[A-Za-z_].*\) \{$/.test(text)) return;
    const end = lines.indexOf('}', i);
    const [, name] = /(\w+)\(/.exec(lines[start]) ?? [];
    if (name && end > i) found.push({ name, line: start + 1, length: end - start + 1 });
  });
  return found;
}

// Heads of functions: the line ends where the body begins, or where parameters go on in the next line.
const NAMED = [
  /^\s*(?:export )?(?:default )?(?:async )?function\s*\*?\s*(\w*)\s*\(.*[({]$/,
  /^\s*(?:export )?(?:const|let) (\w+) = (?:async )?(?:function\b.*|\(.*|\w+ => )[({]$/,
  /^\s+(?:static )?(?:async )?(?:get |set )?(#?\w+)\(.*\) \{$/,
];
const NOT_NAMES = new Set(['if', 'for', 'while', 'switch', 'catch', 'with']);

// The named functions and methods of a script.
function inScript(lines) {
  const found = [];
  lines.forEach((text, i) => {
    const name = NAMED.map((pattern) => pattern.exec(text)?.[1]).find((n) => n !== undefined);
    if (name === undefined || NOT_NAMES.has(name)) return;
    const left = indent(text);
    const end = lines.findIndex((t, j) => j > i && indent(t) === left && /^\s*[})]/.test(t) && !/\{$/.test(t));
    if (end > i) found.push({ name: name || 'default', line: i + 1, length: end - i + 1 });
  });
  return found;
}

// The functions of a shell script.
function inShell(lines) {
  return lines.flatMap((text, i) => {
    const [, name] = /^(\w+)\(\) [{(]$/.exec(text) ?? [];
    const end = name ? lines.findIndex((t, j) => j > i && /^[})]/.test(t)) : -1;
    return end > i ? [{ name, line: i + 1, length: end - i + 1 }] : [];
  });
}

function functions(file, lines) {
  if (/\.[ch]$/.test(file)) return inC(lines);
  if (/\.m?js$/.test(file)) return inScript(lines);
  return /^#!.*sh\b/.test(lines[0]) ? inShell(lines) : [];
}

export function checkSizes(house, tell) {
  for (const file of house.files) {
    if (!SOURCE.test(file.split('/').pop())) continue;
    if (file.endsWith('CMakeLists.txt')) continue;
    const lines = house.lines(file);
    const limit = LIMITS.find(([place]) => place.test(file))[1];
    if (lines.length > limit)
      tell(file, lines.length, `${lines.length} lines, more than ${limit}`, house.roomOf(file));
    if (file.startsWith('tests/')) continue;
    for (const { name, line, length } of functions(file, lines))
      if (length > FUNCTION_LINES)
        tell(file, line, `${name} has ${length} lines, more than ${FUNCTION_LINES}`, house.roomOf(file));
  }
}
