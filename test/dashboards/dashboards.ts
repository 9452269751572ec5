import type { Dashboard } from '@grafana/schema';
import {
  dashboard,
  HISTORY_VARIABLE,
  historyPanel,
  historyTarget,
  listVariable,
  METRICS_VARIABLE,
  metricPanel,
  number,
  text,
  time,
} from './panels.js';

const WEEK = "strftime(timezone(v.time_zone, d.started_at), '%G-W%V')";

const fleetHeat = dashboard('tallybay-fleet-heat', 'Tallybay: fleet heat by week', {
  ...{ from: 'now-90d', refresh: '15m', variables: [HISTORY_VARIABLE] },
  panels: [
    historyPanel(
      1,
      {
        type: 'barchart',
        title: 'Minutes with the coolant at or above 105 °C, by week',
        unit: 'm',
        description: 'Engine running; from dwell. The week is counted in the zone of each depot.',
      },
      { x: 0, y: 0, w: 12, h: 9 },
      historyTarget(
        `SELECT ${WEEK} AS week, round(sum(d.seconds) / 60, 1) AS minutes FROM dwell d JOIN vehicles v USING (vehicle_id) WHERE d.signal = 'coolant_temp_c' AND d.drive_id IS NOT NULL AND d.low >= 105 GROUP BY week ORDER BY week`,
        [text('week', 'Week'), number('minutes', 'Minutes')],
      ),
    ),
    historyPanel(
      2,
      {
        type: 'barchart',
        title: 'Engine hours by week',
        unit: 'h',
        description: 'What the heat has to be held against.',
      },
      { x: 12, y: 0, w: 12, h: 9 },
      historyTarget(
        `SELECT ${WEEK} AS week, round(sum(d.seconds) / 3600, 2) AS hours, count(DISTINCT d.vehicle_id) AS vehicles FROM drives d JOIN vehicles v USING (vehicle_id) GROUP BY week ORDER BY week`,
        [text('week', 'Week'), number('hours', 'Engine hours'), number('vehicles', 'Vehicles')],
      ),
    ),
    historyPanel(
      3,
      {
        type: 'table',
        title: 'Newest ranking',
        description: 'It ranks work for the shop; it clears no vehicle as safe to drive.',
      },
      { x: 0, y: 9, w: 24, h: 12 },
      historyTarget(
        'SELECT week, rank, vehicle_id, vehicle_class, depot, round(score, 2) AS score, round(heat, 2) AS heat, round(codes, 2) AS codes, round(readiness, 2) AS readiness, round(engine_hours, 1) AS engine_hours, why FROM rankings WHERE newest AND week = (SELECT max(week) FROM rankings) ORDER BY rank NULLS LAST, vehicle_id',
        [
          text('week', 'Week'),
          number('rank', 'Rank'),
          text('vehicle_id', 'Vehicle'),
          text('vehicle_class', 'Class'),
          text('depot', 'Depot'),
          number('score', 'Score'),
          number('heat', 'Heat'),
          number('codes', 'Codes'),
          number('readiness', 'Readiness'),
          number('engine_hours', 'Engine hours'),
          text('why', 'Why'),
        ],
      ),
    ),
    historyPanel(
      4,
      {
        type: 'table',
        title: 'Longest episodes',
        description: 'Continuous exceedances, told at the highest stage that each reached.',
      },
      { x: 0, y: 21, w: 24, h: 10 },
      historyTarget(
        'SELECT started_at, vehicle_id, signal, stage, round(seconds / 60, 1) AS minutes, round(worst, 1) AS worst FROM episodes ORDER BY seconds DESC LIMIT 50',
        [
          time('started_at', 'From'),
          text('vehicle_id', 'Vehicle'),
          text('signal', 'Signal'),
          text('stage', 'Stage'),
          number('minutes', 'Minutes'),
          number('worst', 'Worst °C'),
        ],
      ),
    ),
  ],
});

// Grafana fills in every $vehicle, also inside the SQL: its own parameter has another name.
const vehicle = { id: '$vehicle' };
const oneVehicle = dashboard('tallybay-vehicle', 'Tallybay: one vehicle', {
  ...{ from: 'now-90d', refresh: '15m' },
  variables: [
    HISTORY_VARIABLE,
    listVariable(
      'vehicle',
      'Vehicle',
      historyTarget('SELECT vehicle_id FROM vehicles ORDER BY vehicle_id', [text('vehicle_id')]),
    ),
  ],
  panels: [
    historyPanel(
      1,
      {
        type: 'timeseries',
        title: 'Peak temperatures by drive',
        unit: 'celsius',
        description: 'Highest valid value of each drive.',
      },
      { x: 0, y: 0, w: 16, h: 10 },
      historyTarget(
        "SELECT started_at, signal, max AS peak FROM signal_stats WHERE vehicle_id = $id AND drive_id IS NOT NULL AND valid > 0 AND signal IN ('coolant_temp_c', 'engine_oil_temp_c', 'trans_fluid_temp_c') ORDER BY started_at",
        [time('started_at', 'Time'), text('signal', 'Signal'), number('peak', 'Peak')],
        vehicle,
        'timeseries',
      ),
    ),
    historyPanel(
      2,
      { type: 'table', title: 'Codes', description: 'Since when, and how often back.' },
      { x: 16, y: 0, w: 8, h: 10 },
      historyTarget(
        'SELECT code, text, status, active, returns, last_seen_at FROM code_history WHERE vehicle_id = $id ORDER BY active DESC, last_seen_at DESC',
        [
          text('code', 'Code'),
          text('text', 'Meaning'),
          text('status', 'Status'),
          text('active', 'Active'),
          number('returns', 'Returns'),
          time('last_seen_at', 'Last seen'),
        ],
        vehicle,
      ),
    ),
    historyPanel(
      3,
      { type: 'table', title: 'Drives', description: 'Engine on to engine off, newest first.' },
      { x: 0, y: 10, w: 12, h: 10 },
      historyTarget(
        'SELECT started_at, round(seconds / 60, 1) AS minutes, round(distance_km, 1) AS distance_km, rows FROM drives WHERE vehicle_id = $id ORDER BY started_at DESC LIMIT 200',
        [time('started_at', 'From'), number('minutes', 'Minutes'), number('distance_km', 'km'), number('rows', 'Rows')],
        vehicle,
      ),
    ),
    historyPanel(
      4,
      { type: 'table', title: 'Data quality', description: 'Values that were left out, by signal.' },
      { x: 12, y: 10, w: 12, h: 10 },
      historyTarget(
        'SELECT signal, sum(valid) AS used, sum(bad) AS left_out, round(sum(stuck_seconds) / 60, 1) AS stuck_minutes FROM data_quality WHERE vehicle_id = $id GROUP BY signal ORDER BY left_out DESC, signal',
        [
          text('signal', 'Signal'),
          number('used', 'Used'),
          number('left_out', 'Left out'),
          number('stuck_minutes', 'Stuck minutes'),
        ],
        vehicle,
      ),
    ),
  ],
});

const returningCodes = dashboard('tallybay-returning-codes', 'Tallybay: returning codes', {
  ...{ from: 'now-1y', refresh: '1h', variables: [HISTORY_VARIABLE] },
  panels: [
    historyPanel(
      1,
      {
        type: 'table',
        title: 'Codes that come back',
        description: 'After they were gone or cleared; most returns first.',
      },
      { x: 0, y: 0, w: 24, h: 12 },
      historyTarget(
        "SELECT code, any_value(text) AS meaning, count(DISTINCT vehicle_id) AS vehicles, sum(returns) AS returns, max(last_return_at) AS last_return FROM code_history WHERE returns > 0 AND status <> 'pending' GROUP BY code ORDER BY returns DESC, code",
        [
          text('code', 'Code'),
          text('meaning', 'Meaning'),
          number('vehicles', 'Vehicles'),
          number('returns', 'Returns'),
          time('last_return', 'Last return'),
        ],
      ),
    ),
    historyPanel(
      2,
      { type: 'table', title: 'Where they are', description: 'By vehicle.' },
      { x: 0, y: 12, w: 24, h: 12 },
      historyTarget(
        'SELECT vehicle_id, code, module, status, returns, active, first_seen_at, last_seen_at FROM code_history WHERE returns > 0 ORDER BY returns DESC, vehicle_id, code, status',
        [
          text('vehicle_id', 'Vehicle'),
          text('code', 'Code'),
          text('module', 'Module'),
          text('status', 'Status'),
          number('returns', 'Returns'),
          text('active', 'Active'),
          time('first_seen_at', 'First seen'),
          time('last_seen_at', 'Last seen'),
        ],
      ),
    ),
  ],
});

const readiness = dashboard('tallybay-readiness', 'Tallybay: readiness by due date', {
  ...{ from: 'now-30d', refresh: '1h', variables: [HISTORY_VARIABLE] },
  panels: [
    historyPanel(
      1,
      {
        type: 'table',
        title: 'Inspections, soonest first',
        description: 'The verdicts compare the newest snapshots with published rules; the local programme decides.',
      },
      { x: 0, y: 0, w: 24, h: 14 },
      historyTarget(
        'SELECT i.due, i.due_in_days, i.vehicle_id, i.depot, i.programme, i.verdict, w.blocking, w.newest_snapshot_at FROM inspections i JOIN verdicts w USING (vehicle_id, programme) ORDER BY i.due, i.vehicle_id, i.programme',
        [
          text('due', 'Due'),
          number('due_in_days', 'In days'),
          text('vehicle_id', 'Vehicle'),
          text('depot', 'Depot'),
          text('programme', 'Programme'),
          text('verdict', 'Verdict'),
          text('blocking', 'In the way'),
          time('newest_snapshot_at', 'Newest snapshot'),
        ],
      ),
    ),
    historyPanel(
      2,
      { type: 'barchart', title: 'Verdicts', description: 'Vehicles by verdict, all programmes.' },
      { x: 0, y: 14, w: 24, h: 9 },
      historyTarget(
        'SELECT verdict, count(DISTINCT vehicle_id) AS vehicles FROM verdicts GROUP BY verdict ORDER BY vehicles DESC, verdict',
        [text('verdict', 'Verdict'), number('vehicles', 'Vehicles')],
      ),
    ),
  ],
});

const pipeline = dashboard('tallybay-pipeline', 'Tallybay: pipeline', {
  ...{ from: 'now-6h', refresh: '30s', variables: [METRICS_VARIABLE] },
  panels: [
    metricPanel(
      1,
      { title: 'Uploads by state', description: 'What waits and what failed needs somebody.' },
      { x: 0, y: 0, w: 12, h: 8 },
      [{ expr: 'max by (state) (tallybay_uploads)', legend: '{{state}}' }],
    ),
    metricPanel(
      2,
      { title: 'Uploads stored a minute', description: 'How many reach the lake.' },
      { x: 12, y: 0, w: 12, h: 8 },
      [{ expr: '60 * deriv(tallybay_stored_uploads[10m])', legend: 'uploads/min' }],
    ),
    metricPanel(
      3,
      {
        title: 'Messages not finished, by partition',
        description: 'Growing: more decode threads or workers are needed.',
      },
      { x: 0, y: 8, w: 12, h: 8 },
      [{ expr: 'max by (topic, partition) (tallybay_stream_lag_messages)', legend: '{{topic}} {{partition}}' }],
    ),
    metricPanel(
      4,
      { title: 'Decode speed', unit: 'Bps', description: 'Bytes as sent that reach the lake, a second.' },
      { x: 12, y: 8, w: 12, h: 8 },
      [{ expr: 'deriv(tallybay_stored_upload_bytes[10m])', legend: 'bytes/s' }],
    ),
    metricPanel(
      5,
      { title: 'Refusals', description: 'Requests that were refused or failed, by code.' },
      { x: 0, y: 16, w: 12, h: 8 },
      [{ expr: 'sum by (code) (rate(tallybay_refusals_total[5m]))', legend: '{{code}}' }],
    ),
    metricPanel(
      6,
      {
        title: 'Age of the newest ranking',
        unit: 's',
        description: 'Past a week and a day: the weekly job does not run.',
      },
      { x: 12, y: 16, w: 12, h: 8 },
      [{ expr: 'tallybay_ranking_age_seconds', legend: 'age' }],
    ),
    metricPanel(
      7,
      { title: "Analysts' queries", description: 'Running, waiting, and how they end.' },
      { x: 0, y: 24, w: 12, h: 8 },
      [
        { expr: 'tallybay_query_seats', legend: '{{state}}' },
        { expr: 'sum by (state) (rate(tallybay_queries_total[5m]))', legend: '{{state}}/s' },
      ],
    ),
    metricPanel(
      8,
      { title: 'Time of a request', unit: 's', description: 'Mean by route.' },
      { x: 12, y: 24, w: 12, h: 8 },
      [
        {
          expr: 'sum by (route) (rate(tallybay_http_request_seconds_total[5m])) / sum by (route) (rate(tallybay_http_requests_total[5m]))',
          legend: '{{route}}',
        },
      ],
    ),
    metricPanel(9, { title: 'Ready', description: '0: the process cannot be used.' }, { x: 0, y: 32, w: 12, h: 8 }, [
      { expr: 'tallybay_ready', legend: '{{role}} {{instance}}' },
      { expr: 'tallybay_api_ready', legend: 'api {{instance}}' },
    ]),
    metricPanel(
      10,
      { title: 'Resident memory', unit: 'bytes', description: 'By process.' },
      { x: 12, y: 32, w: 12, h: 8 },
      [{ expr: 'process_resident_memory_bytes', legend: '{{job}} {{instance}}' }],
    ),
  ],
});

/** File name -> dashboard. `UPDATE_DASHBOARDS=1 npx vitest run --project unit test/unit/dashboards` writes them anew. */
export const DASHBOARDS: Record<string, Dashboard> = {
  'fleet-heat.json': fleetHeat,
  'vehicle.json': oneVehicle,
  'returning-codes.json': returningCodes,
  'readiness.json': readiness,
  'pipeline.json': pipeline,
};
