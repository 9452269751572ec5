import { t } from '../text/text.js';

const STROKES = 10;

/**
 * A score of 0..1 as tally strokes, the number beside it. The strokes say how much at a glance, also without colour; the
 * number says it exactly. null is said in words: what was not measured is not zero.
 */
export function Tally({ score, missing }: { score: number | null; missing?: string }) {
  if (score === null) return <span class="missing">{missing ?? t.states.noValue}</span>;
  const filled = Math.round(score * STROKES);
  return (
    <span class="tally">
      <svg viewBox="0 0 62 16" width="62" height="16" aria-hidden="true" focusable="false">
        {Array.from({ length: STROKES }, (_, index) => (
          <path
            key={index}
            d={`M${3 + index * 6 + (index >= 5 ? 2 : 0)} 2v12`}
            class={index < filled ? 'stroke-on' : 'stroke-off'}
          />
        ))}
      </svg>
      <span class="number">{scoreText(score)}</span>
    </span>
  );
}

/** Scores are shown out of 100: whole numbers are easier to compare down a column. */
export const scoreText = (score: number): string => String(Math.round(score * 100));
