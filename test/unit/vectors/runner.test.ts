// Runs the copies of the published vectors; sources stand in each entry (test/fixtures/vectors/SOURCE.txt).
import { mkdtempSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { describe, expect, it } from 'vitest';
import { runVectors } from '../../vectors/runner.js';

const given = new URL('../../fixtures/vectors', import.meta.url).pathname;

function runOne(name: string, content: unknown) {
  const directory = mkdtempSync(join(tmpdir(), 'vectors-'));
  writeFileSync(join(directory, name), typeof content === 'string' ? content : JSON.stringify(content));
  return runVectors(directory);
}

describe('the vector runner', () => {
  it('passes every given vector of fifteen topics', () => {
    const { topics, passed } = runVectors(given);
    expect(topics.flatMap((topic) => topic.failures)).toEqual([]);
    expect(topics).toHaveLength(15);
    expect(passed).toBe(338);
  });

  it.each([
    ['pid.json', [{ pid: '05', hex: '7B', field: 'coolant_temp', expected: 84, unit: 'degC' }]],
    ['pid.json', [{ pid: '67', hex: '01AF00', field: 'ect2', expected: -40, unit: 'degC' }]],
    ['pid.json', [{ pid: '05', hex: '7B', field: 'coolant_temp', expected: 83, unit: 'kPa' }]],
    ['dtc.json', [{ kind: 'code2', hex: '0133', expected: 'P0134' }]],
    ['dtc.json', [{ kind: 'new kind', hex: '0133', expected: 'P0134' }]],
    ['monitor-status.json', [{ pid: '01', hex: '81076504', expected: { incomplete: [] } }]],
    ['vin.json', [{ vin: '1M8GDM9AXKP042788', expected: { wellFormed: false } }]],
    ['stats.json', { rainflow: [{ series: [1, 2, 1], expected: [] }] }],
    ['unheard-of.json', [{ a: 1 }]],
    ['units.json', '{ not JSON'],
  ])('fails on a wrong %s', (name, content) => {
    const { failed, topics } = runOne(name, content);
    expect(failed).toBe(1);
    expect(topics[0]?.failures[0]).toHaveProperty('got');
  });
});
