// Adds up what the steps of `npm test` did. A check that did not run is not a check that passed.

import { stripVTControlCharacters } from 'node:util';

const MESSAGE_LINES = 12;
const MESSAGE_WIDTH = 200;

/**
 * Counts one vitest run from its JSON report; what the report does not show is a failure too.
 * @param {object | null} report content of the JSON report; null when there is none
 * @param {number | null} exitCode of the vitest process
 */
export function tallyReport(report, exitCode) {
  if (!report) return { passed: 0, failed: 1, notes: ['vitest ended without a report'] };
  const files = report.testResults ?? [];
  const tests = files.flatMap((file) => file.assertionResults ?? []);
  const passed = tests.filter((test) => test.status === 'passed').length;
  const failed = files.flatMap((file) => (file.assertionResults ?? []).filter(isFailed).map((test) => [file, test]));
  const notRun = tests.filter((test) => test.status !== 'passed' && test.status !== 'failed');
  const broken = files.filter((file) => file.status === 'failed' && !hasFailedTest(file));
  const notes = [
    ...failed.flatMap(([file, test]) => [`failed: ${test.fullName} (${file.name})`, ...firstWords(test)]),
    ...notRun.map((test) => `not run (${test.status}): ${test.fullName}`),
    ...broken.map((file) => `could not be run: ${file.name}`),
  ];
  let problems = failed.length + notRun.length + broken.length;
  if (tests.length === 0 && problems === 0) notes.push('there are no tests');
  else if (exitCode !== 0 && problems === 0) notes.push('an error outside of any test');
  if (problems === 0 && notes.length > 0) problems = 1;
  return { passed, failed: problems, notes };
}

const isFailed = (test) => test.status === 'failed';
const hasFailedTest = (file) => (file.assertionResults ?? []).some(isFailed);

/** Where only the end of a long run was kept, this is all that tells why; a property's message opens with its seed. */
const firstWords = (test) =>
  (test.failureMessages ?? []).flatMap((message) =>
    stripVTControlCharacters(message)
      .split('\n')
      .slice(0, MESSAGE_LINES)
      .map((line) => `  ${line.slice(0, MESSAGE_WIDTH)}`),
  );

/** A step that is one check: it ends with code 0 or it failed. */
export const tallyCheck = (exitCode) =>
  exitCode === 0
    ? { passed: 1, failed: 0, notes: [] }
    : { passed: 0, failed: 1, notes: [`ended with code ${exitCode}`] };

/** The lines at the end; the very last one is the sum. */
export function summaryLines(steps) {
  const lines = steps.flatMap(({ name, seconds, passed, failed, notes }) => [
    `${failed === 0 ? 'ok  ' : 'FAIL'} ${name.padEnd(12)} ${String(passed).padStart(6)} passed ${String(failed).padStart(4)} failed ${seconds.toFixed(0).padStart(5)} s`,
    ...notes.map((note) => `       ${note}`),
  ]);
  const sum = (key) => steps.reduce((total, step) => total + step[key], 0);
  return [...lines, `${sum('passed')} passed, ${sum('failed')} failed`];
}
