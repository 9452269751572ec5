import type { ProblemDocument, TallybayError } from '@tallybay/contracts';

/**
 * A problem as a person reads it: the sentence, then the place and the advice where there are any.
 * The same for problems found here and for problem+json from the service.
 */
export function problemLines(problem: ProblemDocument, name = 'tallybay'): string[] {
  const place = placeText(problem);
  return [
    `${name}: ${sentence(problem)}`,
    ...(place ? [`  where:      ${place}`] : []),
    ...(problem.advice ? [`  what to do: ${problem.advice}`] : []),
  ];
}

export const errorLines = (error: TallybayError, name?: string): string[] => problemLines(error.toDocument(), name);

/** One line for lists: what was wrong and what to do. */
export function problemSummary(problem: ProblemDocument): string {
  const place = placeText(problem);
  return [sentence(problem), place && `(${place})`, problem.advice].filter(Boolean).join(' ');
}

function sentence(problem: ProblemDocument): string {
  const detail = problem.detail.trim();
  const text = detail && detail !== problem.title ? `${problem.title}: ${detail}` : problem.title;
  return /[.!?]$/.test(text) ? text : `${text}.`;
}

function placeText(problem: ProblemDocument): string {
  return [
    problem.file && `file ${problem.file}`,
    problem.row !== undefined && `row ${problem.row}`,
    problem.column && `column "${problem.column}"`,
    problem.field && `field ${problem.field}`,
  ]
    .filter(Boolean)
    .join(', ');
}
