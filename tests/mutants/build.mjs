// How a build folder compiles a source and links a test: as CMake wrote it down. The objects of that build
// are the one base; a fault compiles one file again and stands before the libraries when a test is linked,
// so that nobody takes that file's own object out of its library.
import { execFileSync, spawn } from 'node:child_process';
import { readFileSync } from 'node:fs';
import { join, resolve } from 'node:path';

const quoted = (path) => `'${path.replaceAll("'", "'\\''")}'`;

export class Build {
  constructor(folder) {
    this.folder = resolve(folder);
    this.links = new Map();
    let commands;
    try {
      commands = JSON.parse(readFileSync(join(this.folder, 'compile_commands.json'), 'utf8'));
    } catch (error) {
      throw new Error(`${folder} is no build folder: ${error.message}`);
    }
    this.commands = new Map();
    for (const command of commands)
      if (!this.commands.has(command.file)) this.commands.set(command.file, command);
  }

  #of(source) {
    const found = this.commands.get(source);
    if (!found) throw new Error(`${source} is not built in ${this.folder}`);
    return found;
  }

  // Where the build puts the object of a source, as its own commands name it.
  objectOf(source) {
    return / -o (\S+)/.exec(this.#of(source).command)[1];
  }

  // Compiles `text` in the place of `source`: quickly, and a warning is none of ours.
  compile(source, text, object) {
    const near = source.slice(0, source.lastIndexOf('/'));
    return this.#of(source)
      .command.replace(/ -o \S+/, () => ` -o ${quoted(object)}`)
      .replace(/ -c \S+/, () => ` -iquote ${quoted(near)} -c ${quoted(text)}`)
      .replaceAll(/ -Werror\b/g, '')
      .concat(' -w -O0 -g0 -U_FORTIFY_SOURCE');
  }

  // The program that the object of a unit test's source goes into.
  programOf(test) {
    const [, name] = /([^/]+)\.dir\//.exec(this.objectOf(test)) ?? [];
    return name;
  }

  // Links a test's program anew with more objects in front of everything else, and one left out.
  link(program, objects, without, output) {
    if (!this.links.has(program)) {
      const out = execFileSync('ninja', ['-C', this.folder, '-t', 'commands', '-s', `bin/${program}`], {
        encoding: 'utf8',
      });
      const [, command] = /^: && (.+) && :$/m.exec(out) ?? [];
      if (!command) throw new Error(`${program} is not linked as a program: ${out}`);
      this.links.set(program, command);
    }
    return this.links
      .get(program)
      .replace(/ -o \S+/, () => ` -Wl,-S -o ${quoted(output)} ${objects.map(quoted).join(' ')}`)
      .split(' ')
      .filter((word) => word !== without)
      .join(' ');
  }

  // Brings programs up to date.
  make(programs) {
    execFileSync('ninja', ['-C', this.folder, ...programs], { stdio: ['ignore', 'ignore', 'inherit'] });
  }

  // Runs a command of the shell in the build folder: its exit code (128 for one that a signal ended) and
  // all that it printed.
  run(command) {
    return new Promise((done) => {
      const child = spawn('/bin/sh', ['-c', `exec ${command}`], { cwd: this.folder });
      const said = [];
      child.stdout.on('data', (data) => said.push(data));
      child.stderr.on('data', (data) => said.push(data));
      child.on('close', (code) => done({ code: code ?? 128, said: Buffer.concat(said).toString() }));
    });
  }
}
