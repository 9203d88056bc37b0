/** Hands a file to the person, as a download. */
export function saveFile(name: string, content: Blob): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(content);
  link.download = name;
  link.click();
  // The browser reads the file after the click has been dealt with.
  setTimeout(() => URL.revokeObjectURL(link.href), 60_000);
}
