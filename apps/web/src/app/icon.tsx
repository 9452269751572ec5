/** Line drawings on a 24 x 24 grid; always beside words, so hidden from readers of the text. */
const SHAPES = {
  tally: 'M5 5v14M9.7 5v14M14.3 5v14M19 5v14M2.5 16.5l19-9',
  card: 'M6 3h8l4 4v14H6zM12 17v-7M8.8 13L12 9.8l3.2 3.2',
  code: 'M5 8h14v8H5zM8 12h2M12.5 12h3.5M3 12h2M19 12h2M9 8V5M15 8V5',
  check: 'M12 3a9 9 0 1 0 9 9M8 11.5l3.5 3.5L21 5',
  limit: 'M4 6h16M4 18h16M7 15l4-5 3 2.5L18 8',
  vehicle:
    'M3 16V7h10v9M13 10h4l4 4v2M3 16h2M9 16h6M19 16h2M7 18a2 2 0 1 0 0-4 2 2 0 1 0 0 4M17 18a2 2 0 1 0 0-4 2 2 0 1 0 0 4',
  trace: 'M3 9c2 0 2-4 4-4s2 7 4 7 2-5 4-5 2 3 6 3M3 18h5l1-2 2 3 1-1h9',
  plan: 'M4 5h16v15H4zM4 10h16M9 10v10M14 10v10',
  sql: 'M4 6l5 5-5 5M11 18h9',
  gear: 'M4 7h9M17 7h3M4 17h3M11 17h9M13 4.5v5M7 14.5v5',
  close: 'M6 6l12 12M18 6L6 18',
  up: 'M12 19V6M6.5 11.5L12 6l5.5 5.5',
  down: 'M12 5v13M6.5 12.5L12 18l5.5-5.5',
  same: 'M5 12h14',
} as const;

export type IconName = keyof typeof SHAPES;

export const Icon = ({ name }: { name: IconName }) => (
  <svg class="icon" viewBox="0 0 24 24" width="20" height="20" aria-hidden="true" focusable="false">
    <path
      d={SHAPES[name]}
      fill="none"
      stroke="currentColor"
      stroke-width="1.9"
      stroke-linecap="round"
      stroke-linejoin="round"
    />
  </svg>
);
