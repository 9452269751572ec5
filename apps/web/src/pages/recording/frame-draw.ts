/** Draws everything that asked for it once a frame, however often it asked. */
export class FrameDraw {
  private readonly waiting = new Set<() => void>();
  private frame: number | null = null;
  private told = false;

  request(draw: () => void): void {
    this.waiting.add(draw);
    this.frame ??= requestAnimationFrame(() => this.run());
  }

  /** Takes back what was asked and is not drawn yet. */
  forget(draw: () => void): void {
    this.waiting.delete(draw);
  }

  private run(): void {
    this.frame = null;
    const draws = [...this.waiting];
    this.waiting.clear();
    for (const draw of draws) draw();
  }

  /** Says that data has been drawn: what a reader waits for. The browser's own tools and the bench find it by its name. */
  drewData(): void {
    if (!this.told) performance.mark(FIRST_DRAWN);
    this.told = true;
  }
}

export const FIRST_DRAWN = 'recording-drawn';

/** A canvas as sharp as the screen, in px of the page. Changing its size clears it, so only a changed size is set. */
export function sized(canvas: HTMLCanvasElement, widthPx: number, heightPx: number): CanvasRenderingContext2D {
  const ratio = window.devicePixelRatio || 1;
  const width = Math.round(widthPx * ratio);
  const height = Math.round(heightPx * ratio);
  if (canvas.width !== width || canvas.height !== height) {
    canvas.width = width;
    canvas.height = height;
  }
  const context = canvas.getContext('2d')!;
  context.setTransform(ratio, 0, 0, ratio, 0, 0);
  return context;
}
