#!/usr/bin/env node
// Starts the terminal program with a Node that can run it: the project brings its own in node_modules.
import { spawn } from 'node:child_process';
import { existsSync } from 'node:fs';
import { createRequire } from 'node:module';
import { constants } from 'node:os';
import { dirname, join } from 'node:path';
import { fileURLToPath } from 'node:url';

const NEEDED = [22, 19];
const main = new URL('../dist/main.js', import.meta.url);

if (!existsSync(main)) {
  console.error('tallybay: the program is not built yet. Run `npm run build` in the project folder first.');
  process.exit(70);
}

if (isRecentEnough(process.versions.node)) await import(main.href);
else process.exitCode = await runWithOwnNode();

function isRecentEnough(version) {
  const [major, minor] = version.split('.').map(Number);
  return major > NEEDED[0] || (major === NEEDED[0] && minor >= NEEDED[1]);
}

async function runWithOwnNode() {
  const node = ownNode();
  if (!node || process.env.TALLYBAY_OWN_NODE) {
    console.error(
      `tallybay: needs Node ${NEEDED.join('.')} or later, this is ${process.versions.node}. Run \`npm ci\`.`,
    );
    return 70;
  }
  // The marker keeps a broken own Node from starting itself over and over.
  const env = { ...process.env, TALLYBAY_OWN_NODE: '1' };
  const child = spawn(node, [fileURLToPath(import.meta.url), ...process.argv.slice(2)], { stdio: 'inherit', env });
  // A signal to this process is meant for the program. At a terminal Ctrl-C reaches both: passed on, it would count twice.
  const atTerminal = process.stdin.isTTY || process.stdout.isTTY || process.stderr.isTTY;
  process.on('SIGTERM', () => child.kill('SIGTERM'));
  process.on('SIGINT', () => atTerminal || child.kill('SIGINT'));
  return new Promise((resolve) => {
    child.once('error', () => resolve(70));
    child.once('exit', (code, signal) => resolve(code ?? 128 + (constants.signals[signal] ?? 0)));
  });
}

function ownNode() {
  try {
    const folder = dirname(createRequire(import.meta.url).resolve('node/package.json'));
    const file = join(folder, 'bin', process.platform === 'win32' ? 'node.exe' : 'node');
    return existsSync(file) ? file : null;
  } catch {
    return null;
  }
}
