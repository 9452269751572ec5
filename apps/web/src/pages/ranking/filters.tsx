import type { Ranking } from '@tallybay/contracts';
import { query, setQuery } from '../../app/location.js';
import { depotChoices } from '../../data/depot-names.js';
import { Select, TextInput } from '../../kit/field.js';
import { t } from '../../text/text.js';
import type { RankingFilter } from './ranking-rows.js';

export function filterNow(): RankingFilter {
  const given = query.value;
  return {
    vehicleClass: given.get('class') ?? '',
    depot: given.get('depot') ?? '',
    route: given.get('route') ?? '',
    find: given.get('find') ?? '',
  };
}

/** Narrows the list; every choice stands in the address. */
export function Filters({ ranking }: { ranking: Ranking }) {
  const filter = filterNow();
  const all = [...ranking.ranked, ...ranking.unranked];
  return (
    <search class="row no-print">
      <Select
        label={t.ranking.columns.vehicleClass}
        value={filter.vehicleClass}
        options={choices(all.map((row) => row.vehicleClass))}
        onChange={(value) => setQuery({ class: value })}
      />
      <Select
        label={t.ranking.columns.depot}
        value={filter.depot}
        options={[{ value: '', text: t.ranking.all }, ...depotChoices(all.map((row) => row.depot))]}
        onChange={(value) => setQuery({ depot: value })}
      />
      <Select
        label={t.ranking.columns.route}
        value={filter.route}
        options={choices(all.flatMap((row) => row.route ?? []))}
        onChange={(value) => setQuery({ route: value })}
      />
      <TextInput
        label={t.ranking.find}
        type="search"
        value={filter.find}
        onInput={(value) => setQuery({ find: value })}
      />
    </search>
  );
}

const choices = (values: readonly string[]) => [
  { value: '', text: t.ranking.all },
  ...[...new Set(values)].toSorted().map((value) => ({ value, text: value.replaceAll('_', ' ') })),
];
