import type { Visit } from '@tallybay/contracts';

const COLUMNS = [
  'day',
  'from',
  'to',
  'lastDay',
  'depot',
  'bay',
  'person',
  'vehicle',
  'vehicleClass',
  'state',
  'pinned',
] as const;

/** Visits as CSV (RFC 4180): a header, one row a visit. Cells that a spreadsheet would run as formulas are defused. */
export function visitsCsv(visits: readonly Visit[]): string {
  const rows = visits.map((visit) => [
    ...COLUMNS.map((column) => String(visit[column] ?? '')),
    ...[
      visit.minutes,
      visit.inspections.map(({ label }) => label).join('; '),
      visit.findings ?? '',
      visit.note ?? '',
      visit.id,
    ],
  ]);
  const head = [...COLUMNS, 'minutes', 'inspections', 'findings', 'note', 'visit'];
  return `${[head, ...rows].map((row) => row.map((value) => cell(String(value))).join(',')).join('\r\n')}\r\n`;
}

function cell(text: string): string {
  const safe = /^[=+\-@\t\r]/.test(text) ? `'${text}` : text;
  return /[",\r\n]/.test(safe) ? `"${safe.replaceAll('"', '""')}"` : safe;
}

export interface DaySheet {
  bay: string;
  depot: string;
  day: string;
  person: string | null;
  /** What is done there on that day, in order. */
  work: readonly DayWork[];
}

export interface DayWork {
  visit: Visit;
  /** Of this day; work that takes several has its own times on each. */
  from: string;
  to: string;
}

/** One bay's day on paper: what comes when, why, room for what was found. A page of its own without scripts. */
export function daySheetHtml({ bay, depot, day, person, work }: DaySheet): string {
  const rows = work.map(
    ({ visit, from, to }) => `<section>
<h2>${text(from)} to ${text(to)}: ${text(visit.vehicle)} <small>${text(visit.vehicleClass)}, ${text(visit.state.replaceAll('_', ' '))}${spanText(visit, day)}</small></h2>
${visit.inspections.map(({ label, why }) => `<h3>☐ ${text(label)}</h3><ul>${why.map((item) => `<li>${text(item)}</li>`).join('')}</ul>`).join('\n')}
<p class="write">Found:</p><p class="write">Parts:</p><p class="write">Done at, by:</p>
</section>`,
  );
  const none = '<p>Nothing is planned in this bay on this day.</p>';
  return `<!doctype html>
<html lang="en"><head><meta charset="utf-8"><title>${text(bay)}, ${text(day)}</title>
<style>
body{font:12pt/1.4 system-ui,sans-serif;max-width:46rem;margin:1rem auto;padding:0 1rem;color:#111;background:#fff}
section{border-top:2px solid #111;padding:.4rem 0 1rem;break-inside:avoid}h1{font-size:1.5rem}h2{font-size:1.15rem}h3{font-size:1rem;margin:.4rem 0 0}
ul{margin:.2rem 0 .4rem 1.4rem;padding:0}.write{border-bottom:1px solid #777;height:2.2rem;margin:.2rem 0}
</style></head><body>
<h1>${text(bay)}, ${text(depot)}: ${text(day)}</h1>
<p>${person === null ? 'Nobody is assigned.' : `Works here: ${text(person)}.`} Work on hot cooling systems follows the shop’s procedures.</p>
${rows.length === 0 ? none : rows.join('\n')}
</body></html>
`;
}

const spanText = ({ day: first, lastDay }: Visit, day: string): string =>
  `${first < day ? `, goes on since ${text(first)}` : ''}${day < lastDay ? `, until ${text(lastDay)}` : ''}`;

const ENTITIES: Record<string, string> = { '&': '&amp;', '<': '&lt;', '>': '&gt;', '"': '&quot;' };
const text = (value: string): string => value.replaceAll(/[&<>"]/g, (sign) => ENTITIES[sign]!);
