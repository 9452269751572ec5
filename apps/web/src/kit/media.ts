import { signal } from '@preact/signals';
import type { RefObject } from 'preact';
import { useLayoutEffect, useRef, useState } from 'preact/hooks';

const width = signal(window.innerWidth);
window.addEventListener('resize', () => {
  width.value = window.innerWidth;
});

/** Width of the window in px. The phone's layout ends where the side bar begins (880 px in frame.css). */
export const useMinWidth = (): number => width.value;
export const PHONE_MAX = 879;
/** From here a panel fits beside a table. */
export const PANEL_MIN = 1180;

/** Width in px of the element that gets `box`, kept as it changes; the window's until it is there. */
export function useOwnWidth<E extends HTMLElement>(): { box: RefObject<E | null>; width: number } {
  const box = useRef<E>(null);
  const [own, setOwn] = useState(window.innerWidth);
  useLayoutEffect(() => {
    const element = box.current;
    if (!element) return;
    const measure = () => setOwn(element.clientWidth);
    measure();
    const observer = new ResizeObserver(measure);
    observer.observe(element);
    return () => observer.disconnect();
  }, []);
  return { box, width: own };
}
