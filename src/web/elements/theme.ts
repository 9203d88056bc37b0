/** What the person has chosen; auto follows the system. */
export type Theme = 'auto' | 'light' | 'dark';

const KEY = 'sweepwise-theme';
const themes: readonly Theme[] = ['auto', 'light', 'dark'];
const systemDark = matchMedia('(prefers-color-scheme: dark)');

/** The theme of an earlier visit, or auto. */
export function storedTheme(): Theme {
  try {
    const stored = localStorage.getItem(KEY);
    return themes.find((theme) => theme === stored) ?? 'auto';
  } catch {
    return 'auto'; // storage may be forbidden
  }
}

export function nextTheme(theme: Theme): Theme {
  return themes[(themes.indexOf(theme) + 1) % themes.length];
}

/** Puts a theme on the page and remembers it where that is allowed. */
export function setTheme(theme: Theme): void {
  applyTheme(theme);
  try {
    localStorage.setItem(KEY, theme);
  } catch {
    // the choice then lasts until the page is closed
  }
}

/** Puts the stored theme on the page and follows the system while it is auto. */
export function startTheme(onChange: () => void): void {
  applyTheme(storedTheme());
  systemDark.addEventListener('change', () => {
    applyTheme(storedTheme());
    onChange();
  });
}

function applyTheme(theme: Theme): void {
  const dark = theme === 'dark' || (theme === 'auto' && systemDark.matches);
  document.documentElement.dataset.theme = dark ? 'dark' : 'light';
}
