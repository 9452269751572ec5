// The page's own rules, no source.
import type { Ranking } from '@tallybay/contracts';
import { computeRanking } from '@tallybay/risk';
import { describe, expect, it, vi } from 'vitest';
import {
  filteredRanked,
  filteredUnranked,
  rankingCsv,
} from '../../../../../../apps/web/src/pages/ranking/ranking-rows.js';
import { healthySnapshot, rankingInput, vehicleFacts } from '../../../../libs/risk/facts-builder.js';

// The page's words set the document's language; there is no document here.
vi.hoisted(() => vi.stubGlobal('document', { documentElement: { lang: '' } }));

const healthy = (id: string, route?: string) =>
  vehicleFacts({ id, snapshots: [healthySnapshot()], ...(route === undefined ? {} : { vehicle: { route } }) });
const ranking: Ranking = computeRanking(
  rankingInput([
    healthy('KV-101', 'North mains round'),
    healthy('KV-102'),
    vehicleFacts({ id: 'KV-103', driveHours: [], vehicle: { route: 'North mains round' } }),
    vehicleFacts({ id: 'KV-104', driveHours: [], vehicle: { route: 'Desert, line "B"' } }),
  ]),
);
const all = { vehicleClass: '', depot: '', route: '', find: '' };
const ids = (rows: { vehicle: string }[]) => rows.map(({ vehicle }) => vehicle);

describe('the list of the ranking', () => {
  it('is narrowed to one route, with and without a rank; one without a route fits none', () => {
    const filter = { ...all, route: 'North mains round' };
    expect(ids(filteredRanked(ranking, filter))).toEqual(['KV-101']);
    expect(ids(filteredUnranked(ranking, filter))).toEqual(['KV-103']);
    expect(ids(filteredRanked(ranking, all))).toEqual(['KV-101', 'KV-102']);
    expect(ids(filteredUnranked(ranking, { ...all, find: 'desert kv-104' }))).toEqual(['KV-104']);
  });

  it('is saved with the route of each vehicle, as wide in every line as its head', () => {
    const text = rankingCsv(ranking, filteredRanked(ranking, all), filteredUnranked(ranking, all));
    const [head, first, second, third, fourth] = text.trim().split('\r\n');
    expect(head!.split(',').slice(3, 8)).toEqual(['vehicle', 'class', 'depot', 'route', 'score']);
    expect(first).toContain('KV-101,pickup,north,North mains round,');
    expect(second).toContain('KV-102,pickup,north,,');
    // A field with a comma or a quote is quoted, quotes doubled: RFC 4180, section 2, rules 6 and 7.
    expect(fourth).toContain('KV-104,pickup,north,"Desert, line ""B""",,');
    const fields = (line: string) => line.replaceAll(/"(?:[^"]|"")*"/g, '').split(',').length;
    for (const line of [first, second, third, fourth]) expect(fields(line!), line).toBe(fields(head!));
  });
});
