import { useRef, useState } from 'preact/hooks';
import { Icon } from '../../app/icon.js';
import { t } from '../../text/text.js';
import { filesFromDrop, filesFromInput } from './dropped-files.js';
import { addFiles } from './items.js';

/** Takes files and folders by drop, or by two buttons for those who do not drag. */
export function DropZone() {
  const [over, setOver] = useState(false);
  const files = useRef<HTMLInputElement>(null);
  const folder = useRef<HTMLInputElement>(null);
  const take = (input: HTMLInputElement) => {
    if (input.files) addFiles(filesFromInput(input.files));
    // The same choice again must be a change again.
    input.value = '';
  };
  return (
    // biome-ignore lint/a11y/noStaticElementInteractions: dropping has no keyboard; the two buttons inside do the same
    <div
      class={over ? 'drop over' : 'drop'}
      onDragOver={(event) => {
        event.preventDefault();
        setOver(true);
      }}
      onDragLeave={() => setOver(false)}
      onDrop={(event) => {
        event.preventDefault();
        setOver(false);
        if (event.dataTransfer) void filesFromDrop(event.dataTransfer).then(addFiles);
      }}
    >
      <Icon name="card" />
      <p>{t.upload.drop}</p>
      <div class="actions">
        <button type="button" class="main" onClick={() => files.current?.click()}>
          {t.upload.pickFiles}
        </button>
        <button type="button" onClick={() => folder.current?.click()}>
          {t.upload.pickFolder}
        </button>
      </div>
      <input
        ref={files}
        type="file"
        multiple
        hidden
        aria-label={t.upload.pickFiles}
        onChange={(event) => take(event.currentTarget)}
      />
      <input
        ref={folder}
        type="file"
        multiple
        hidden
        aria-label={t.upload.pickFolder}
        {...{ webkitdirectory: true }}
        onChange={(event) => take(event.currentTarget)}
      />
    </div>
  );
}
