import type { ComponentChildren } from 'preact';
import { useEffect, useId, useRef } from 'preact/hooks';
import { Icon } from '../app/icon.js';
import { t } from '../text/text.js';

interface DialogProps {
  title: string;
  onClose: () => void;
  children: ComponentChildren;
  wide?: boolean;
}

/** The browser's own modal dialog: it traps the focus, Escape closes it, and the focus goes back to where it came from. */
export function Dialog({ title, onClose, children, wide = false }: DialogProps) {
  const box = useRef<HTMLDialogElement>(null);
  const titleId = useId();
  useEffect(() => {
    const before = document.activeElement;
    box.current?.showModal();
    return () => {
      if (before instanceof HTMLElement && before.isConnected) before.focus();
    };
  }, []);
  return (
    <dialog ref={box} class={wide ? 'wide' : undefined} aria-labelledby={titleId} onClose={onClose}>
      <div class="dialog-head">
        <h2 id={titleId}>{title}</h2>
        <button type="button" class="plain" aria-label={t.actions.close} onClick={() => box.current?.close()}>
          <Icon name="close" />
        </button>
      </div>
      {children}
    </dialog>
  );
}
