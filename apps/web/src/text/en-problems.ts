import type { ProblemCode } from '@tallybay/contracts';

/** What a reader of the page can do, where the service's own advice names addresses for programs. By problem code. */
const advice: Partial<Record<ProblemCode, string>> = {
  ranking_unknown: 'Choose another week; a week is ranked on the Monday after it',
  vehicle_not_found: 'Look for it on the page Vehicles; whoever runs the server registers new ones',
  upload_unknown: 'Choose one from the page Logs; what still waits for a vehicle or a time is on the page Upload',
  record_unknown: 'Somebody may have changed or removed it meanwhile: load the page again',
  parameter_invalid: 'The address may be mistyped, or of an older version: come here from the menu again',
  body_invalid: 'Correct what is named, then try again; if nothing looks wrong, load the page again',
  plan_running: 'Wait until it is made; this page shows it then',
  shop_missing: 'Set up bays, people and opening hours: page Plan, then Shop',
  transfer_unknown: 'Send the file once more; what the server has already is not sent twice',
  query_invalid: 'The list of views on this page says what can be asked',
  query_refused: 'The list of views on this page says what can be asked; files and the catalogue cannot be',
};

export const enProblems = {
  title: 'That did not work',
  /** @param what a noun phrase with its article: "the ranking of 2026-W37" */
  notLoaded: (what: string) => `${what.charAt(0).toUpperCase()}${what.slice(1)} could not be loaded`,
  technical: 'For whoever runs the server',
  advice: advice as Record<string, string | undefined>,
  anyAdvice: 'Load the page again; if it stays, tell whoever runs the server what stands below',
  unreachable: 'The Tallybay server does not answer',
  unreachableAdvice: 'Check the network connection, then try again; what was sent before is safe on the server.',
  oddAnswer: (status: number) => `The server answered with status ${status} and no explanation`,
  oddAnswerAdvice: 'Try again in a minute; if it stays, tell whoever runs the server.',
  unexpectedAdvice: 'Load the page again; if it happens again, tell whoever runs the server.',
};
