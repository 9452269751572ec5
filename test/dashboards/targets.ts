import { readFileSync } from 'node:fs';
import { z } from 'zod';
import { DASHBOARDS } from './dashboards.js';

/** What a panel asks of the history. */
export const historyTarget = z.object({
  url: z.literal('/v1/query'),
  root_selector: z.literal('rows'),
  url_options: z.object({ method: z.literal('POST'), data: z.string() }),
  columns: z.array(z.object({ selector: z.string(), type: z.enum(['string', 'number', 'timestamp']) })).min(1),
});
export const metricTarget = z.object({ expr: z.string() });

export interface Target {
  name: string;
  target: unknown;
}

/** Every query of every panel and variable, from the JSON files as they are delivered. */
export function dashboardTargets(root: string): { all: Target[]; history: Target[]; metrics: Target[] } {
  const all = Object.keys(DASHBOARDS).flatMap((file) => {
    const { panels, templating } = JSON.parse(readFileSync(`${root}/dashboards/${file}`, 'utf8')) as {
      panels: { title: string; targets: unknown[] }[];
      templating: { list: { name: string; query: { infinityQuery?: unknown } }[] };
    };
    return [
      ...panels.flatMap(({ title, targets }) => targets.map((target) => ({ name: `${file}: ${title}`, target }))),
      ...templating.list.flatMap(({ name, query }) =>
        query.infinityQuery ? [{ name: `${file}: ${name}`, target: query.infinityQuery }] : [],
      ),
    ];
  });
  return {
    all,
    history: all.filter(({ target }) => historyTarget.safeParse(target).success),
    metrics: all.filter(({ target }) => metricTarget.safeParse(target).success),
  };
}

/** The body of a panel's request with its variables filled in, as Grafana does it. */
export const requestOf = (target: { url_options: { data: string } }, vehicle: string): Record<string, unknown> =>
  JSON.parse(target.url_options.data.replaceAll('$vehicle', vehicle));
