/** Ten questions that a maintenance analyst asks, runnable as they are. Their words are in the text file under the same id. */
export type ExampleId =
  | 'hottest'
  | 'coolant_by_speed'
  | 'heat_by_class'
  | 'week_on_week'
  | 'returning_codes'
  | 'codes_before_heat'
  | 'warm_up'
  | 'readiness_due'
  | 'bad_sensors'
  | 'idle_share';

export const EXAMPLES: readonly { id: ExampleId; sql: string }[] = [
  {
    id: 'hottest',
    sql: `SELECT vehicle_id, round(sum(seconds) / 60, 1) AS minutes_at_or_above_105_c, max(max) AS hottest_c
FROM dwell
WHERE signal = 'coolant_temp_c' AND drive_id IS NOT NULL AND low >= 105
GROUP BY vehicle_id
ORDER BY minutes_at_or_above_105_c DESC
LIMIT 20`,
  },
  {
    id: 'coolant_by_speed',
    sql: `SELECT 10 * floor(vehicle_speed_kmh / 10) AS speed_kmh, round(avg(coolant_temp_c), 1) AS mean_coolant_c,
       round(avg(engine_load_pct), 1) AS mean_load_pct, count(*) AS samples
FROM samples
WHERE vehicle_speed_kmh IS NOT NULL AND coolant_temp_c IS NOT NULL
GROUP BY speed_kmh
ORDER BY speed_kmh`,
  },
  {
    id: 'heat_by_class',
    sql: `SELECT v.vehicle_class, s.signal, count(DISTINCT s.vehicle_id) AS vehicles,
       round(median(s.max), 1) AS median_peak, round(quantile_cont(s.max, 0.95), 1) AS peak_of_the_hottest_5_pct
FROM signal_stats s JOIN vehicles v USING (vehicle_id)
WHERE s.signal IN ('coolant_temp_c', 'engine_oil_temp_c', 'trans_fluid_temp_c') AND s.drive_id IS NOT NULL AND s.valid > 0
GROUP BY ALL
ORDER BY s.signal, v.vehicle_class`,
  },
  {
    id: 'week_on_week',
    sql: `SELECT d.vehicle_id, strftime(timezone(v.time_zone, d.started_at), '%G-W%V') AS week,
       round(sum(d.seconds) / 3600, 1) AS engine_hours, round(sum(d.distance_km), 1) AS distance_km,
       round(max(s.max), 1) AS hottest_coolant_c
FROM drives d
JOIN vehicles v USING (vehicle_id)
LEFT JOIN signal_stats s ON s.drive_id = d.drive_id AND s.signal = 'coolant_temp_c'
GROUP BY d.vehicle_id, week
ORDER BY d.vehicle_id, week`,
  },
  {
    id: 'returning_codes',
    sql: `SELECT code, any_value(text) AS meaning, count(DISTINCT vehicle_id) AS vehicles, sum(returns) AS returns,
       max(last_return_at) AS last_return
FROM code_history
WHERE status <> 'pending'
GROUP BY code
ORDER BY returns DESC, vehicles DESC, code`,
  },
  {
    id: 'codes_before_heat',
    sql: `SELECT e.vehicle_id, e.started_at AS hot_at, e.signal, e.stage, c.code, c.time AS code_seen_at
FROM episodes e
JOIN codes c ON c.vehicle_id = e.vehicle_id AND c.time BETWEEN e.started_at - INTERVAL 7 DAY AND e.started_at
ORDER BY e.started_at DESC
LIMIT 200`,
  },
  {
    id: 'warm_up',
    sql: `SELECT s.vehicle_id, d.started_at, min(s.time) FILTER (WHERE s.coolant_temp_c >= 70) - d.started_at AS time_to_70_c,
       arg_min(s.coolant_temp_c, s.time) AS coolant_at_start_c
FROM drives d
JOIN samples s ON s.upload_id = d.upload_id AND s.time BETWEEN d.started_at AND d.ended_at
GROUP BY s.vehicle_id, d.drive_id, d.started_at
HAVING coolant_at_start_c < 40
ORDER BY time_to_70_c DESC NULLS FIRST
LIMIT 50`,
  },
  {
    id: 'readiness_due',
    sql: `SELECT i.due, i.due_in_days, i.vehicle_id, i.programme, i.verdict, w.blocking, w.why
FROM inspections i JOIN verdicts w USING (vehicle_id, programme)
ORDER BY i.due, i.vehicle_id, i.programme`,
  },
  {
    id: 'bad_sensors',
    sql: `SELECT vehicle_id, signal, any_value(channel) AS channel, sum(bad) AS left_out, sum(valid) AS used,
       round(100 * sum(bad) / nullif(sum(bad) + sum(valid), 0), 2) AS left_out_pct, round(sum(stuck_seconds) / 60, 1) AS stuck_minutes
FROM data_quality
GROUP BY vehicle_id, signal
HAVING left_out > 0 OR stuck_minutes > 0
ORDER BY left_out_pct DESC, stuck_minutes DESC
LIMIT 100`,
  },
  {
    id: 'idle_share',
    sql: `SELECT vehicle_id, round(sum(seconds) / 3600, 2) AS engine_hours,
       round(100 * sum(seconds) FILTER (WHERE high <= 5) / sum(seconds), 1) AS below_5_kmh_pct
FROM dwell
WHERE signal = 'vehicle_speed_kmh' AND drive_id IS NOT NULL
GROUP BY vehicle_id
ORDER BY below_5_kmh_pct DESC NULLS LAST`,
  },
];
