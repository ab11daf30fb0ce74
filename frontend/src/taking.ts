// Files out of the page and into it: what is ready is taken, what is dropped is kept.

/** Take a file as soon as it is ready; the link stays for browsers that do not. */
export function attachTaking(page: Document): void {
  page.addEventListener("htmx:afterSettle", () => {
    const ready = page.querySelector<HTMLAnchorElement>("[data-ready]");
    if (!ready) return;
    delete ready.dataset["ready"];
    ready.click();
  });
}

/** Put files that are dropped anywhere on the page into its field for files. */
export function attachDropping(page: Document): void {
  const field = page.querySelector<HTMLInputElement>("input[data-drop]");
  if (!field) return;
  // Without this a browser opens the file in place of the page.
  for (const kind of ["dragover", "drop"]) {
    page.addEventListener(kind, (event) => event.preventDefault());
  }
  page.addEventListener("drop", (event) => {
    void gather(event.dataTransfer).then((files) => {
      if (files.length === 0) return;
      const held = new DataTransfer();
      for (const file of files) held.items.add(file);
      field.files = held.files;
      field.dispatchEvent(new Event("change", { bubbles: true }));
      const told = page.querySelector("#dropped");
      const names = files.map((file) => file.name).join(", ");
      if (told) told.textContent = `${files.length} to bring in: ${names}`;
      field.closest("form")?.querySelector("button")?.focus();
    });
  });
}

/** All files of a drop; a folder gives those that lie in it. */
async function gather(dropped: DataTransfer | null): Promise<File[]> {
  const items = [...(dropped?.items ?? [])].filter((item) => item.kind === "file");
  const entries = items.map((item) => ({ item: item.getAsFile(), entry: item.webkitGetAsEntry() }));
  const found = await Promise.all(
    entries.map(({ item, entry }) =>
      entry?.isDirectory
        ? filesIn(entry as FileSystemDirectoryEntry)
        : Promise.resolve(item ? [item] : []),
    ),
  );
  return found.flat();
}

async function filesIn(folder: FileSystemDirectoryEntry): Promise<File[]> {
  const reader = folder.createReader();
  const files: File[] = [];
  for (;;) {
    const entries = await new Promise<FileSystemEntry[]>((done, failed) =>
      reader.readEntries(done, failed),
    );
    if (entries.length === 0) return files;
    for (const entry of entries) {
      if (!entry.isFile) continue;
      const file = entry as FileSystemFileEntry;
      files.push(await new Promise<File>((done, failed) => file.file(done, failed)));
    }
  }
}
