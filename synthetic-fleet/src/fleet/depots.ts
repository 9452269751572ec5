/** The depots of the invented Kestrel Valley Water District. Coordinates are of no real place of that name. */
export interface DepotRow {
  id: string;
  name: string;
  timeZone: string;
  /** Mean over the year and half the yearly swing [degC]; half the daily swing [K]. */
  yearMeanC: number;
  yearSwingK: number;
  daySwingK: number;
  elevationM: number;
  latitude: number;
  longitude: number;
  share: number;
  /** Rounds of its vehicles. */
  routes: readonly string[];
}

export const DISTRICT = 'Kestrel Valley Water District';

export const DEPOTS: readonly DepotRow[] = [
  {
    id: 'northgate',
    name: 'Northgate',
    timeZone: 'America/Denver',
    yearMeanC: 11,
    yearSwingK: 14,
    daySwingK: 8,
    elevationM: 1480,
    latitude: 41.2,
    longitude: -107.1,
    share: 0.45,
    routes: ['North mains round', 'Reservoir road', 'Hill pumps round'],
  },
  {
    id: 'millrace',
    name: 'Millrace',
    timeZone: 'America/Denver',
    yearMeanC: 12.5,
    yearSwingK: 14,
    daySwingK: 7.5,
    elevationM: 1260,
    latitude: 40.9,
    longitude: -107.6,
    share: 0.35,
    routes: ['Lower sewers round', 'Valley meters round', 'Mill lane hydrants'],
  },
  {
    id: 'tern-basin',
    name: 'Tern Basin',
    timeZone: 'America/Los_Angeles',
    yearMeanC: 13.5,
    yearSwingK: 13,
    daySwingK: 9,
    elevationM: 980,
    latitude: 40.6,
    longitude: -114.8,
    share: 0.2,
    routes: ['Basin wells round', 'Desert line'],
  },
];
