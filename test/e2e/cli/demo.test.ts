import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { Program, tallybay, temporaryFolder } from './program.js';

// Small enough for a test, large enough for every kind of upload: see the outcomes below.
const SIZE = ['--vehicles', '6', '--weeks', '2', '--scale', '0.2'];
const demo = (data: string, ...more: string[]) =>
  Program.start('apps/cli/dist/demo/main.js', ['--data', data, ...SIZE, ...more]);

describe('the demo', () => {
  it('walks the whole path and ends, and does so again on the same data', async () => {
    const data = temporaryFolder();
    const first = await demo(data, '--once').ended;
    expect(first.errors).toBe('');
    expect(first.exitCode).toBe(0);
    expect(first.out).toMatch(/^rank +was +vehicle/m);
    expect(first.out).toContain('lake.sql');
    expect(first.out).not.toMatch(/NaN|undefined|\[object/);
    const again = await demo(data, '--once').ended;
    expect(again.exitCode).toBe(0);
    expect(again.out).toMatch(/files: .*already there/);
    expect(rankTable(again.out)).toBe(rankTable(first.out));
  });

  it('serves on until Ctrl-C, then ends its services', async () => {
    const data = temporaryFolder();
    const program = demo(data);
    await program.untilSaid('Stop with Ctrl-C');
    const url = /Serving at (\S+)/.exec(program.out)?.[1] ?? '';
    const rank = await tallybay(['rank', '--url', url, '--top', '3']);
    expect(rank.exitCode).toBe(0);
    expect(rank.out).toMatch(/^Week 2026-W37/);
    program.child.kill('SIGINT');
    expect((await program.ended).exitCode).toBe(0);
    await expect(fetch(`${url}/health/live`)).rejects.toThrow();
  });

  it('says why when a service does not start', async () => {
    const data = temporaryFolder();
    const ran = await Program.start('apps/cli/dist/demo/main.js', ['--once', '--data', data, ...SIZE], {
      env: { TALLYBAY_LOG_LEVEL: 'shouting' },
    }).ended;
    expect(ran.exitCode).toBe(69);
    expect(ran.errors).toContain('TALLYBAY_LOG_LEVEL');
    expect(existsSync(join(data, 'home/ingest.log'))).toBe(true);
    expect(readFileSync(join(data, 'home/ingest.log'), 'utf8')).toContain('shouting');
  });
});

const rankTable = (out: string): string => out.slice(out.indexOf('\nrank '), out.indexOf('\nWhat waits'));
