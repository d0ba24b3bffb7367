// Starts the server on an empty folder and a browser beside it, and ends both.

import { spawn } from 'node:child_process';
import { execFileSync } from 'node:child_process';
import { mkdtemp, readFile, rm, writeFile } from 'node:fs/promises';
import { createRequire } from 'node:module';
import { tmpdir } from 'node:os';
import path from 'node:path';
import { fileURLToPath } from 'node:url';
import assert from 'node:assert/strict';
import { chromium } from 'playwright-core';

const here = path.dirname(fileURLToPath(import.meta.url));
const binary = process.env.SLACKWATER_BINARY ?? path.join(here, '../../target/debug/slackwater');
const axe = await readFile(createRequire(import.meta.url).resolve('axe-core/axe.min.js'), 'utf8');

// A soak takes three hours. The server's wall clock is moved from outside, by a library that stands
// between the program and the system; the program itself has no way to be told another time.
function movableClock(folder) {
  const files = execFileSync('dpkg', ['-L', 'libfaketime'], { encoding: 'utf8' }).split('\n');
  return {
    LD_PRELOAD: files.find((file) => file.endsWith('/libfaketime.so.1')),
    FAKETIME_TIMESTAMP_FILE: path.join(folder, 'clock'),
    FAKETIME_NO_CACHE: '1',
    FAKETIME_DONT_FAKE_MONOTONIC: '1',
  };
}

export async function openServer(command = 'serve') {
  const folder = await mkdtemp(path.join(tmpdir(), 'slackwater-browser-'));
  const setClock = (minutes) => writeFile(path.join(folder, 'clock'), `+${minutes}m\n`);
  await setClock(0);
  const child = spawn(binary, [command, '--data', path.join(folder, 'data'), '--listen', '127.0.0.1:0'], {
    stdio: ['ignore', 'pipe', 'inherit'],
    env: { ...process.env, ...movableClock(folder) },
  });
  let moved = 0;
  const greeting = await new Promise((resolve, reject) => {
    let said = '';
    child.stdout.on('data', (chunk) => {
      said += chunk;
      if (/http:\/\/[\d.:]+\n[\s\S]*\n/.test(said)) resolve(said);
    });
    child.on('exit', (code) => reject(new Error(`the server ended with ${code}: ${said}`)));
  });
  return {
    address: greeting.match(/http:\/\/[\d.:]+/)[0],
    greeting,
    folder,
    async later(minutes) {
      moved += minutes;
      await setClock(moved);
    },
    async close() {
      const ended = new Promise((resolve) => child.on('exit', resolve));
      child.removeAllListeners('exit');
      child.on('exit', () => {});
      child.kill('SIGTERM');
      await Promise.race([ended, new Promise((resolve) => child.once('close', resolve))]);
      await rm(folder, { recursive: true, force: true });
    },
  };
}

export function openBrowser() {
  return chromium.launch({
    executablePath: process.env.CHROMIUM ?? '/usr/bin/chromium',
    args: [
      '--no-sandbox',
      '--disable-gpu',
      '--disable-quic',
      '--no-first-run',
      '--disable-background-networking',
      '--disable-component-update',
      '--disable-sync',
    ],
  });
}

// A page is read by everybody: no finding of the accessibility checker, nothing wider than the screen.
export async function readable(page) {
  await page.evaluate(axe);
  const { violations } = await page.evaluate(() => window.axe.run());
  const found = violations.map((v) => `${v.id}: ${v.help}\n${v.nodes.map((n) => '  ' + n.html.slice(0, 200)).join('\n')}`);
  assert.deepEqual(found, [], `${page.url()}\n${found.join('\n')}`);
  const wider = await page.evaluate(() => document.documentElement.scrollWidth - document.documentElement.clientWidth);
  assert.ok(wider <= 0, `${page.url()} is ${wider} px wider than the screen`);
}
