/** True if the focused element has a use of its own for keys. */
export function takesKeys(event: KeyboardEvent): boolean {
  const [target] = event.composedPath();
  if (!(target instanceof HTMLElement)) return false;
  if (target.closest('input, select, textarea, dialog, [role=tab], [contenteditable]')) return true;
  return event.key === ' ' && target.closest('button, summary, a, label') !== null;
}
