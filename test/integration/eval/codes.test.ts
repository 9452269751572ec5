import { CODES_RULE, findClears } from '@tallybay/risk';
import { describe, expect, it } from 'vitest';
import { trueReturns } from '../../eval/codes/code-truth.js';
import { drivenMonitors } from '../../eval/codes/driven-monitors.js';
import { forecastPairs } from '../../eval/codes/forecasts.js';

describe('codes and readiness against a known control module', () => {
  const fleet = drivenMonitors(21, 16);

  it('finds every clear between two readings and makes none up', () => {
    for (const { snapshots, clearsMs } of fleet) {
      const told = findClears(snapshots, CODES_RULE);
      const holds = (after: number, before: number) => clearsMs.some((ms) => ms > after && ms <= before);
      expect(told.filter(({ afterMs, beforeMs }) => !holds(afterMs, beforeMs))).toEqual([]);
      const spans = snapshots.slice(1).map((snapshot, index) => [snapshots[index]!.atMs, snapshot.atMs] as const);
      expect(told).toHaveLength(spans.filter(([after, before]) => holds(after, before)).length);
    }
  });

  it('forecasts open monitors better than their average, and likely ones mostly come true', () => {
    const given = forecastPairs(fleet).flatMap(({ chance, complete }) =>
      chance === null ? [] : [{ chance, complete }],
    );
    const mean = (values: number[]) => values.reduce((sum, value) => sum + value, 0) / values.length;
    const share = mean(given.map(({ complete }) => Number(complete)));
    expect(given.length).toBeGreaterThan(100);
    expect(mean(given.map(({ chance, complete }) => (chance - Number(complete)) ** 2))).toBeLessThan(
      0.85 * mean(given.map(({ complete }) => (share - Number(complete)) ** 2)),
    );
    const likely = given.filter(({ chance }) => chance >= 0.8);
    expect(mean(likely.map(({ complete }) => Number(complete)))).toBeGreaterThan(0.8);
  });
});

describe('what really came back', () => {
  it('is the next failing after a clear, or a confirmation after the module had erased it', () => {
    const event = (day: number, event: string) => ({
      at: new Date(day * 86_400_000).toISOString(),
      code: 'P0171',
      event,
    });
    const events = ['pending', 'confirmed', 'cleared', 'pending', 'returned', 'erased', 'pending', 'returned'];
    const truth = { codes: events.map((name, day) => event(day, name)) };
    expect(trueReturns(truth as Parameters<typeof trueReturns>[0])).toEqual([
      { code: 'P0171', atMs: 3 * 86_400_000, after: 'cleared' },
      { code: 'P0171', atMs: 7 * 86_400_000, after: 'gone' },
    ]);
  });
});
