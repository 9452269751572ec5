import { describe, expect, it } from 'vitest';
import { bringNeeds, type Need, packagesOf } from '../../../scripts/test-needs.mjs';
import { summaryLines, tallyCheck, tallyReport } from '../../../scripts/test-tally.mjs';

const file = (name: string, status: string, tests: [string, string][]) => ({
  name,
  status,
  assertionResults: tests.map(([fullName, testStatus]) => ({ fullName, status: testStatus })),
});
const report = (...testResults: object[]) => ({ testResults });

describe('the sum of a test run', () => {
  it('counts passed and failed tests', () => {
    const tally = tallyReport(
      report(
        file('a', 'passed', [
          ['x', 'passed'],
          ['y', 'passed'],
        ]),
        file('b', 'failed', [['z', 'failed']]),
      ),
      1,
    );
    expect(tally).toEqual({ passed: 2, failed: 1, notes: ['failed: z (b)'] });
  });

  it('names a failed test, its file and the start of its message, for whoever has only the end of the output', () => {
    const failedTest = {
      fullName: 'z',
      status: 'failed',
      failureMessages: [`\u001b[31mError: 1 is not 2\u001b[39m\n${'at somewhere\n'.repeat(40)}`],
    };
    const tally = tallyReport(report({ name: 'b', status: 'failed', assertionResults: [failedTest] }), 1);
    expect(tally.notes.slice(0, 3)).toEqual(['failed: z (b)', '  Error: 1 is not 2', '  at somewhere']);
    expect(tally.notes.length).toBeLessThan(20);
  });

  it.each([
    [
      'a skipped test',
      report(
        file('a', 'passed', [
          ['x', 'passed'],
          ['y', 'skipped'],
        ]),
      ),
      0,
      'not run (skipped): y',
    ],
    [
      'a planned test',
      report(
        file('a', 'passed', [
          ['x', 'passed'],
          ['y', 'todo'],
        ]),
      ),
      0,
      'not run (todo): y',
    ],
    [
      'a file that cannot be loaded',
      report(file('a', 'passed', [['x', 'passed']]), file('b', 'failed', [])),
      1,
      'could not be run: b',
    ],
    ['an error outside of tests', report(file('a', 'passed', [['x', 'passed']])), 1, 'an error outside of any test'],
  ])('counts %s as a failure and names it', (_what, given, exitCode, note) => {
    expect(tallyReport(given, exitCode)).toEqual({ passed: 1, failed: 1, notes: [note] });
  });

  it('counts nothing run, and no report, as failures', () => {
    expect(tallyReport(report(), 0)).toMatchObject({ passed: 0, failed: 1 });
    expect(tallyReport(null, 0)).toMatchObject({ passed: 0, failed: 1 });
  });

  it('ends in one line that adds up', () => {
    const steps = [
      { name: 'lint', seconds: 1, ...tallyCheck(0) },
      { name: 'unit', seconds: 2, passed: 40, failed: 2, notes: ['not run (skipped): y'] },
    ];
    expect(summaryLines(steps).at(-1)).toBe('41 passed, 2 failed');
    expect(summaryLines(steps).join('\n')).toContain('not run (skipped): y');
    expect(tallyCheck(null).failed).toBe(1);
  });
});

describe('what the tests need', () => {
  const need = (packages: string[], there = false): Need => ({
    name: `need ${packages[0]}`,
    isThere: () => there,
    packages,
  });

  it('takes the first package that the distribution offers', () => {
    expect(packagesOf([need(['old', 'new']), need(['gone'])], (name) => name === 'new')).toEqual(['new', 'gone']);
  });

  it('says nothing when everything is there', () => {
    const said: string[] = [];
    expect(bringNeeds([need(['a'], true)], (line) => said.push(line))).toBe(true);
    expect(said).toEqual([]);
  });

  it('stops with the exact package names where it may not install', () => {
    const said: string[] = [];
    process.env.TALLYBAY_NO_INSTALL = '1';
    try {
      expect(
        bringNeeds([need(['java-17', 'java-21']), need(['maven']), need(['z'], true)], (line) => said.push(line)),
      ).toBe(false);
    } finally {
      delete process.env.TALLYBAY_NO_INSTALL;
    }
    expect(said.join('\n')).toContain('need java-17');
    expect(said.at(-1)).toMatch(/apt-get install java-17 maven$/);
  });
});
