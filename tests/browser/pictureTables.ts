import type { Page } from 'playwright-core';

/** A picture that is on the screen, and the numbers that can be reached for it. */
export interface PictureFound {
  name: string;
  /** Why it has no table; null if it has. */
  lack: string | null;
  /** Cells of its first table, header first. */
  cells: string[][];
}

/** Opens all tables on the page and finds those of every canvas and every drawing that is not a label or a sign. */
export async function picturesWithTables(page: Page): Promise<PictureFound[]> {
  for (const closed of ['sweep-data-tables > details', 'sweep-data-tables details details']) {
    for (const details of await page.locator(closed).all()) {
      const summary = details.locator('summary').first();
      if (!(await summary.isVisible()) || (await details.getAttribute('open')) !== null) continue;
      await summary.focus();
      await page.keyboard.press('Enter'); // as somebody does who cannot see the picture
    }
    await page.waitForTimeout(250); // details tell a task later that they were opened
  }
  return page.evaluate(() => {
    const all: Element[] = [];
    const walk = (root: Document | ShadowRoot) => {
      for (const element of root.querySelectorAll('*')) {
        all.push(element);
        if (element.shadowRoot) walk(element.shadowRoot);
      }
    };
    walk(document);
    const seen = all.filter((element) => element.checkVisibility());
    const pictures = seen.filter((element) => element.matches('canvas, svg:not([aria-hidden])'));
    return pictures.map((picture) => {
      const holder = picture.closest('[data-tables]');
      const ids = holder?.getAttribute('data-tables')?.split(' ') ?? [];
      const name = (holder ?? picture).getAttribute('aria-label') ?? picture.outerHTML.slice(0, 80);
      const tables = ids.map((id) => seen.find((element) => element.matches(`[data-table="${id}"]`)));
      const found = tables.map((one) => one?.querySelector('table') ?? null);
      const lacks = found.map((table, k) => {
        if (!tables[k]) return `no table ${ids[k]}`;
        if (!table) return `table ${ids[k]} stays empty`;
        if (!table.caption?.textContent) return `table ${ids[k]} has no caption`;
        const heads = [...table.querySelectorAll('thead th')];
        const rows = [...table.querySelectorAll('tbody tr')];
        if (heads.length < 2 || heads.some((head) => head.getAttribute('scope') !== 'col')) return `${ids[k]}: heads`;
        const good = rows.every(
          ({ children }) => children.length === heads.length && children[0].matches('[scope=row]'),
        );
        return good && rows.length > 0 && rows.length <= 40 ? null : `${ids[k]}: rows`;
      });
      const [first] = found;
      return {
        name,
        lack: ids.length === 0 ? 'names no table' : (lacks.find((lack) => lack !== null) ?? null),
        cells: [...(first?.rows ?? [])].map((row) => [...row.cells].map((cell) => cell.textContent ?? '')),
      };
    });
  });
}
