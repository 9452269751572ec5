import { effect } from '@preact/signals';
import type { RefObject } from 'preact';
import { useEffect, useRef } from 'preact/hooks';
import type { FrameDraw } from './frame-draw.js';

/**
 * Runs a drawing in the next frame whenever a signal that it reads has changed. The drawing reads signals through `watch`
 * first, then draws from what `watch` answered.
 */
export function useDrawing<T>(frames: FrameDraw, watch: () => T, draw: (canvas: HTMLCanvasElement, seen: T) => void) {
  const canvas = useRef<HTMLCanvasElement>(null);
  const newest = useRef({ watch, draw });
  newest.current = { watch, draw };
  useEffect(() => {
    let seen: T;
    const run = () => {
      if (canvas.current) newest.current.draw(canvas.current, seen);
    };
    const stop = effect(() => {
      seen = newest.current.watch();
      frames.request(run);
    });
    return () => {
      stop();
      frames.forget(run);
    };
  }, [frames]);
  return canvas as RefObject<HTMLCanvasElement>;
}
