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

/** The title, then what happened; a detail that begins like the title says both. */
function sentence(problem: ProblemDocument): string {
  const detail = problem.detail.trim();
  const start = (text: string) => text.toLowerCase().split(' ').slice(0, 3).join(' ');
  const isWhole = start(detail) === start(problem.title);
  const text = detail === '' ? problem.title : isWhole ? detail : `${problem.title}: ${detail}`;
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
