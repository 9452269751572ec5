/** What the bench asks. Every channel of the bench's logs has a signal, so every column named here is filled. */

/** Heavy enough for over a second, each another way: the work is DuckDB's, the answer is small. */
export function heavy(signals: readonly string[]): Readonly<Record<string, string>> {
  const some = signals.slice(0, 24);
  const rises = some.map((signal) => `${signal} - lag(${signal}, 600) OVER drive AS ${signal}`);
  return {
    medians: `SELECT vehicle_id, ${some.map((signal) => `quantile_cont(${signal}, [0.05, 0.5, 0.95])`).join(', ')}
      FROM samples GROUP BY vehicle_id ORDER BY vehicle_id`,
    rises: `SELECT vehicle_id, ${some.map((signal) => `max(${signal})`).join(', ')} FROM (
        SELECT vehicle_id, ${rises.join(', ')} FROM samples WINDOW drive AS (PARTITION BY upload_id ORDER BY time))
      GROUP BY vehicle_id ORDER BY vehicle_id`,
    together: `SELECT s.vehicle_id, d.seconds, corr(s.coolant_temp_c, s.engine_oil_temp_c) AS together,
        ${some.map((signal) => `regr_slope(s.${signal}, s.engine_load_pct), stddev(s.${signal}), median(s.${signal})`).join(', ')},
        count(DISTINCT (round(s.engine_speed_rpm), round(s.engine_load_pct))) AS points
      FROM samples s JOIN drives d USING (upload_id) GROUP BY ALL ORDER BY ALL`,
  };
}

/** Large answers as Arrow; the widths that analysts take out. */
export function bulk(signals: readonly string[]): Readonly<Record<string, string>> {
  return {
    wide: `SELECT vehicle_id, upload_id, time, ${signals.join(', ')} FROM samples`,
    numbers: `SELECT time, ${signals.join(', ')} FROM samples`,
    narrow: `SELECT vehicle_id, time, ${signals.slice(0, 8).join(', ')} FROM samples`,
  };
}

export interface AnalystQuestion {
  sql: string;
  accept: string;
  /** The answer must be without a row: each would be an upload of which only a part was seen. */
  torn?: boolean;
}

const JSON_TYPE = 'application/json';

/** What twenty people ask all day: small and large, in every format, and two that would see a half-written upload. */
export function mixed(rowsPerLog: number): readonly AnalystQuestion[] {
  return [
    {
      sql: `SELECT upload_id, count(*) AS rows FROM samples GROUP BY upload_id HAVING count(*) <> ${rowsPerLog}`,
      accept: JSON_TYPE,
      torn: true,
    },
    {
      sql: `SELECT vehicle_id, round(sum(seconds)) AS seconds FROM dwell
        WHERE signal = 'coolant_temp_c' AND low >= 95 GROUP BY vehicle_id ORDER BY seconds DESC`,
      accept: JSON_TYPE,
    },
    {
      sql: `SELECT 5 * floor(coolant_temp_c / 5) AS coolant_c, avg(engine_load_pct) AS load_pct, count(*) AS samples
        FROM samples WHERE coolant_temp_c IS NOT NULL GROUP BY coolant_c ORDER BY coolant_c`,
      accept: JSON_TYPE,
    },
    {
      sql: `SELECT upload_id, rows FROM uploads u WHERE rows IS NOT NULL
        AND rows <> (SELECT count(*) FROM samples s WHERE s.upload_id = u.upload_id)`,
      accept: JSON_TYPE,
      torn: true,
    },
    {
      sql: `SELECT time, coolant_temp_c, engine_speed_rpm, vehicle_speed_kmh, engine_load_pct FROM samples
        WHERE vehicle_id = 'BENCH-3' LIMIT 100000`,
      accept: 'application/vnd.apache.arrow.stream',
    },
    { sql: 'SELECT * FROM drives ORDER BY started_at', accept: 'text/csv' },
    {
      sql: `SELECT signal, count(*) AS drives, max(max) AS highest, avg(mean) AS mean FROM signal_stats GROUP BY signal`,
      accept: 'application/vnd.apache.parquet',
    },
    { sql: 'SELECT time, vehicle_id, coolant_temp_c FROM samples LIMIT 5000', accept: JSON_TYPE },
  ];
}
