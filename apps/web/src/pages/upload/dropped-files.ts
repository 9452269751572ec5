export interface PickedFile {
  file: File;
  /** Path inside the dropped folder, for people. */
  path: string;
}

/** Names that systems leave on cards; nobody means to send them. */
const NEVER = /(^|\/)(\.[^/]*|Thumbs\.db|desktop\.ini)$|(^|\/)(System Volume Information|__MACOSX)\//;

/** All files of a drop, folders walked; in order of their paths. */
export async function filesFromDrop(transfer: DataTransfer): Promise<PickedFile[]> {
  // Entries are only valid while the event is handled, so they are taken before the first wait.
  const entries = Array.from(transfer.items, (item) => item.webkitGetAsEntry()).filter((entry) => entry !== null);
  const found = entries.length > 0 ? (await Promise.all(entries.map(filesBelow))).flat() : pickedFrom(transfer.files);
  return wanted(found);
}

export const filesFromInput = (list: FileList): PickedFile[] => wanted(pickedFrom(list));

const pickedFrom = (list: FileList): PickedFile[] =>
  Array.from(list, (file) => ({ file, path: file.webkitRelativePath || file.name }));

const wanted = (files: readonly PickedFile[]): PickedFile[] =>
  files.filter(({ path }) => !NEVER.test(path)).toSorted((left, right) => left.path.localeCompare(right.path));

async function filesBelow(entry: FileSystemEntry): Promise<PickedFile[]> {
  if (entry.isFile) {
    const file = await new Promise<File>((resolve, reject) => (entry as FileSystemFileEntry).file(resolve, reject));
    return [{ file, path: entry.fullPath.replace(/^\//, '') }];
  }
  const reader = (entry as FileSystemDirectoryEntry).createReader();
  const below: PickedFile[] = [];
  // A reader hands out at most a hundred entries at a time, and an empty list at the end.
  for (;;) {
    const some = await new Promise<FileSystemEntry[]>((resolve, reject) => reader.readEntries(resolve, reject));
    if (some.length === 0) return below;
    below.push(...(await Promise.all(some.map(filesBelow))).flat());
  }
}
