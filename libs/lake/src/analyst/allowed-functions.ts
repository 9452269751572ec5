/**
 * Functions that analysts' statements may call. A name that is not here is refused, whatever a newer DuckDB brings along.
 * Left out on purpose: everything that reads files or the catalogue, runs SQL that is hidden in a text (`query`,
 * `json_execute_serialized_sql`, `json_serialize_plan`), changes or reads settings and variables (`enable_logging`,
 * `current_setting`, `getvariable`), writes logs, waits, or has a state (`nextval`, `setseed`).
 */
const words = (text: string): string[] => text.trim().split(/\s+/);

const OPERATORS = words(
  '+ - * / // % ** ^ & | << >> ~ || ! !__postfix @ ^@ ~~ !~~ ~~* !~~* ~~~ -> ->> @> <@ && <-> <=>',
);

const AGGREGATES = words(`
any_value approx_count_distinct approx_quantile approx_top_k arbitrary arg_max arg_max_null arg_min arg_min_null argmax argmin
array_agg avg bit_and bit_or bit_xor bool_and bool_or corr count count_if count_star countif covar_pop covar_samp cume_dist
dense_rank entropy favg fill first first_value fsum geomean geometric_mean group_concat grouping grouping_id histogram
histogram_exact kahan_sum kurtosis kurtosis_pop lag last last_value lead list listagg mad max max_by mean median min min_by mode
nth_value ntile percent_rank product quantile quantile_cont quantile_disc rank rank_dense regr_avgx regr_avgy regr_count
regr_intercept regr_r2 regr_slope regr_sxx regr_sxy regr_syy reservoir_quantile row_number sem skewness stddev stddev_pop
stddev_samp string_agg sum sum_no_overflow sumkahan var_pop var_samp variance wavg weighted_avg`);

const NUMBERS = words(`
abs acos acosh add asin asinh atan atan2 atanh bit_count cbrt ceil ceiling cos cosh cot degrees divide even exp factorial fdiv
floor fmod gamma gcd greatest greatest_common_divisor isfinite isinf isnan lcm least least_common_multiple lgamma ln log log10
log2 mod multiply nextafter pi pow power radians random round round_even roundbankers sign signbit sin sinh sqrt subtract tan
tanh trunc xor equi_width_bins width_bucket`);

const TEXTS = words(`
ascii bar base64 bin bit_length char_length character_length chr concat concat_ws contains damerau_levenshtein editdist3
ends_with format format_bytes formatreadabledecimalsize formatreadablesize from_base64 from_hex hamming hash hex ilike_escape
instr jaccard jaro_similarity jaro_winkler_similarity lcase left length len levenshtein like_escape lower lpad ltrim md5
mismatches nfc_normalize not_ilike_escape not_like_escape octet_length ord position prefix printf regexp_escape regexp_extract
regexp_extract_all regexp_full_match regexp_matches regexp_replace regexp_split_to_array repeat replace reverse right rpad rtrim
sha1 sha256 split split_part starts_with str_split str_split_regex string_split string_split_regex string_to_array strip_accents
strlen strpos substr substring suffix to_base to_base64 to_hex translate trim ucase unhex unicode upper url_decode url_encode`);

const TIMES = words(`
age century current_date current_localtime current_localtimestamp date_add date_diff date_part date_sub date_trunc datediff
datepart datesub datetrunc day dayname dayofmonth dayofweek dayofyear days_in_month decade epoch epoch_ms epoch_ns epoch_us era
get_current_time get_current_timestamp hour isodow isoyear julian last_day make_date make_time make_timestamp make_timestamp_ms
make_timestamp_ns make_timestamptz microsecond millennium millisecond minute month monthname nanosecond normalized_interval now
quarter second strftime strptime time_bucket timezone timezone_hour timezone_minute to_centuries to_days to_decades to_hours
to_microseconds to_millennia to_milliseconds to_minutes to_months to_quarters to_seconds to_timestamp to_weeks to_years today
transaction_timestamp try_strptime week weekday weekofyear year yearweek`);

const NESTED = words(`
array_aggr array_aggregate array_append array_apply array_cat array_concat array_contains array_distinct array_extract
array_filter array_has array_has_all array_has_any array_indexof array_intersect array_length array_position array_prepend
array_reduce array_reverse array_reverse_sort array_select array_slice array_sort array_to_string array_transform array_unique
array_value array_where array_zip apply cardinality element_at filter flatten generate_series list_aggr list_aggregate
list_any_value list_append list_apply list_avg list_cat list_concat list_contains list_cosine_similarity list_count
list_distance list_distinct list_dot_product list_element list_entropy list_extract list_filter list_first list_has list_has_all
list_has_any list_histogram list_indexof list_inner_product list_intersect list_last list_mad list_max list_median list_min
list_mode list_pack list_position list_prepend list_product list_reduce list_resize list_reverse list_reverse_sort list_select
list_slice list_sort list_stddev_pop list_stddev_samp list_string_agg list_sum list_transform list_unique list_value list_var_pop
list_var_samp list_where list_zip map map_concat map_contains map_entries map_extract map_extract_value map_from_entries
map_keys map_values range reduce row struct_concat struct_extract struct_extract_at struct_insert struct_keys struct_pack
struct_values unnest unpivot_list`);

const JSONS = words(`
array_to_json json_array json_array_length json_contains json_exists json_extract json_extract_path json_extract_path_text
json_extract_string json_group_array json_group_object json_keys json_merge_patch json_object json_pretty json_quote json_type
json_valid json_value row_to_json to_json`);

const OTHERS = words(`
constant_or_null error gen_random_uuid if ifnull nullif coalesce replace_type switch try typeof uuid try_cast`);

export const ALLOWED_FUNCTIONS: ReadonlySet<string> = new Set(
  [OPERATORS, AGGREGATES, NUMBERS, TEXTS, TIMES, NESTED, JSONS, OTHERS].flat(),
);

/** Functions that may stand in FROM: they make rows out of their arguments alone. */
export const ALLOWED_TABLE_FUNCTIONS: ReadonlySet<string> = new Set([
  'generate_series',
  'range',
  'unnest',
  'json_each',
]);
