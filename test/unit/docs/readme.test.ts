import { readFileSync } from 'node:fs';
import { fleetSchema } from '@tallybay/contracts';
import { expect, it } from 'vitest';

it('the fleet file that the README shows is one, and its recorder sits in a vehicle of it', () => {
  const readme = readFileSync(new URL('../../../README.md', import.meta.url), 'utf8');
  const [, json] = /```json\n(\{\s*"name"[^`]*)```/.exec(readme) ?? [];
  const fleet = fleetSchema.parse(JSON.parse(json!));
  expect(fleet.vehicles.length).toBeGreaterThan(0);
  const known = <T extends { id: string }>(rows: readonly T[]) => rows.map(({ id }) => id);
  expect(known(fleet.depots)).toEqual(expect.arrayContaining(fleet.vehicles.map(({ depot }) => depot)));
  expect(known(fleet.vehicles)).toEqual(expect.arrayContaining(fleet.assignments.map(({ vehicle }) => vehicle)));
});
