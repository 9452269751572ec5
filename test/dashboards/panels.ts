import type { Dashboard, Panel } from '@grafana/schema';

/** Data sources are variables, since their ids differ from server to server. */
const HISTORY = { type: 'yesoreyeram-infinity-datasource', uid: '$history' };
const METRICS = { type: 'prometheus', uid: '$metrics' };

export interface ColumnUse {
  selector: string;
  text: string;
  type: 'string' | 'number' | 'timestamp';
}

/** A target of the JSON data source: our query interface, rows as objects. */
export interface HistoryTarget {
  refId: string;
  datasource: typeof HISTORY;
  type: 'json';
  source: 'url';
  parser: 'backend';
  format: 'table' | 'timeseries';
  url: string;
  url_options: {
    method: 'POST';
    body_type: 'raw';
    body_content_type: 'application/json';
    data: string;
    headers: { key: string; value: string }[];
  };
  root_selector: 'rows';
  columns: ColumnUse[];
}

const column = (selector: string, type: ColumnUse['type'], text = selector): ColumnUse => ({ selector, text, type });
export const text = (selector: string, title?: string): ColumnUse => column(selector, 'string', title);
export const number = (selector: string, title?: string): ColumnUse => column(selector, 'number', title);
export const time = (selector: string, title?: string): ColumnUse => column(selector, 'timestamp', title);

/** `$vehicle` and the like stand inside the JSON's texts, where Grafana fills them in. */
export function historyTarget(
  sql: string,
  columns: ColumnUse[],
  parameters: Record<string, string> = {},
  format: HistoryTarget['format'] = 'table',
): HistoryTarget {
  const body = { sql, shape: 'objects', ...(Object.keys(parameters).length > 0 ? { parameters } : {}) };
  return {
    ...{ refId: 'A', datasource: HISTORY, type: 'json', source: 'url', parser: 'backend', format, url: '/v1/query' },
    url_options: {
      ...{ method: 'POST', body_type: 'raw', body_content_type: 'application/json', data: JSON.stringify(body) },
      headers: [{ key: 'x-tallybay-person', value: 'dashboards' }],
    },
    ...{ root_selector: 'rows', columns },
  };
}

export interface Place {
  x: number;
  y: number;
  w: number;
  h: number;
}

export const historyPanel = (
  id: number,
  kind: { type: 'table' | 'timeseries' | 'barchart' | 'stat'; title: string; unit?: string; description: string },
  gridPos: Place,
  target: HistoryTarget,
): Panel => ({
  ...{ id, type: kind.type, title: kind.title, description: kind.description, gridPos, datasource: HISTORY },
  fieldConfig: { defaults: kind.unit ? { unit: kind.unit } : {}, overrides: [] },
  targets: [target as unknown as Record<string, unknown>],
});

export const metricPanel = (
  id: number,
  kind: { title: string; unit?: string; description: string },
  gridPos: Place,
  targets: { expr: string; legend: string }[],
): Panel => ({
  ...{ id, type: 'timeseries', title: kind.title, description: kind.description, gridPos, datasource: METRICS },
  fieldConfig: { defaults: kind.unit ? { unit: kind.unit } : {}, overrides: [] },
  targets: targets.map(({ expr, legend }, index) => ({
    ...{ refId: String.fromCharCode(65 + index), datasource: METRICS, expr, legendFormat: legend },
  })),
});

const source = (name: string, label: string, type: string) => ({
  ...{ name, label, type: 'datasource' as const, query: type, hide: 0, multi: false, includeAll: false },
  ...{ refresh: 1, regex: '', skipUrlSync: false, options: [], current: {} },
});

export const HISTORY_VARIABLE = source('history', 'History', HISTORY.type);
export const METRICS_VARIABLE = source('metrics', 'Metrics', METRICS.type);

export const listVariable = (name: string, label: string, target: HistoryTarget) => ({
  ...{ name, label, type: 'query' as const, datasource: HISTORY, hide: 0, multi: false, includeAll: false },
  ...{ refresh: 1, regex: '', sort: 1, skipUrlSync: false, options: [], current: {} },
  query: { queryType: 'infinity', refId: name, infinityQuery: target },
});

export const dashboard = (
  uid: string,
  title: string,
  parts: { from: string; refresh: string; variables: object[]; panels: Panel[] },
): Dashboard => ({
  ...{ uid, title, tags: ['tallybay'], schemaVersion: 42, version: 1, editable: true, timezone: 'browser' },
  ...{ time: { from: parts.from, to: 'now' }, refresh: parts.refresh },
  templating: { list: parts.variables as NonNullable<NonNullable<Dashboard['templating']>['list']> },
  panels: parts.panels,
});
