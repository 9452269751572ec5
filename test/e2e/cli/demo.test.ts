import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { fileURLToPath } from 'node:url';
import { describe, expect, it } from 'vitest';
import { EXAMPLES } from '../../../apps/web/src/pages/query/examples.js';
import { dashboardTargets, historyTarget, requestOf } from '../../dashboards/targets.js';
import { Program, tallybay, temporaryFolder } from './program.js';

// Small enough for a test, large enough for every kind of upload: see the outcomes below.
const SIZE = ['--vehicles', '6', '--weeks', '2', '--scale', '0.2', '--start', '2026-W36'];
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
    const rest = /its REST interface: ([^)]+)\)/.exec(program.out)?.[1] ?? '';
    expect(await (await fetch(new URL(rest, url))).json()).toMatchObject({ openapi: expect.stringMatching(/^3\./) });
    const rank = await tallybay(['rank', '--url', url, '--top', '3']);
    expect(rank.exitCode).toBe(0);
    expect(rank.out).toMatch(/^Week 2026-W37/);
    // Six vehicles in two weeks have no code that came back; the demo in full has.
    expect((await unanswered(url)).filter((name) => !/return|codes/i.test(name))).toEqual([]);
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

/** What the dashboards and the examples ask of the demo's lake and get no row for, or an error. */
async function unanswered(url: string): Promise<string[]> {
  const { history } = dashboardTargets(fileURLToPath(new URL('../../..', import.meta.url)));
  const vehicle = (await ask(url, { sql: HOTTEST, shape: 'objects' }))[0]!.vehicle_id!;
  const questions = [
    ...history.map(({ name, target }) => ({ name, body: requestOf(historyTarget.parse(target), vehicle) })),
    ...EXAMPLES.map(({ id, sql }) => ({ name: `example ${id}`, body: { sql } })),
  ];
  const silent: string[] = [];
  for (const { name, body } of questions) if ((await ask(url, body)).length === 0) silent.push(name);
  return silent;
}

const HOTTEST = `SELECT vehicle_id FROM dwell WHERE signal = 'coolant_temp_c' ORDER BY max DESC LIMIT 1`;

async function ask(url: string, body: Record<string, unknown>): Promise<Record<string, string>[]> {
  const headers = { 'content-type': 'application/json' };
  const answer = await fetch(`${url}/v1/query`, { method: 'POST', headers, body: JSON.stringify(body) });
  const text = await answer.text();
  if (!answer.ok) throw new Error(`${JSON.stringify(body)}: ${text}`);
  return (JSON.parse(text) as { rows: Record<string, string>[] }).rows;
}

/** From the ranking to the plan, without how long a step took. */
const rankTable = (out: string): string =>
  out.slice(out.indexOf('\nrank '), out.indexOf('\nWhat waits')).replaceAll(/^ +done in .*$/gm, '');
