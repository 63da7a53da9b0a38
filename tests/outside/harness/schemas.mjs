// The JSON Schemas of docs/schema, ready to judge.
import { readdirSync, readFileSync } from 'node:fs';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';
import Ajv2020 from 'ajv/dist/2020.js';
import addFormats from 'ajv-formats';

export const TOP = join(dirname(fileURLToPath(import.meta.url)), '../../..');
const DIR = join(TOP, 'docs/schema');

export const schemas = Object.fromEntries(
  readdirSync(DIR)
    .filter((name) => name.endsWith('.schema.json'))
    .map((name) => [
      name.replace('.schema.json', ''),
      JSON.parse(readFileSync(join(DIR, name), 'utf8')),
    ]),
);

const ajv = new Ajv2020({ strict: true, allErrors: true, allowUnionTypes: true });
addFormats(ajv);
for (const schema of Object.values(schemas)) ajv.addSchema(schema);

const told = (validate, value) =>
  validate(value) ? [] : validate.errors.map((e) => `${e.instancePath}: ${e.message}`);

// What is wrong with a value by a schema that stands in another document.
export const wrongIn = (schema, value) => told(ajv.compile(schema), value);

// What is wrong with a value by the schema of that name, or by a definition of it ("answer", "request#start-work").
export function wrongBy(name, value) {
  const [file, part] = name.split('#');
  const id = schemas[file].$id + (part ? `#/$defs/${part}` : '');
  const validate = ajv.getSchema(id);
  if (!validate) throw new Error(`there is no schema ${name}`);
  return told(validate, value);
}

// JSON with comments, as configuration files have it.
export function parseCommented(text) {
  const plain = text.replace(/"(?:[^"\\]|\\.)*"|\/\/[^\n]*|\/\*[\s\S]*?\*\//g, (m) =>
    m[0] === '"' ? m : ' ',
  );
  return JSON.parse(plain);
}
