/**
 * Lets the keyboard reach tables that are wider than the window, to push them along. What is measured is asked for when it is known, so that nothing is
 * laid out for it.
 */
export function reachWideTables(page: Document): void {
  const measure = new ResizeObserver((entries) => {
    for (const table of new Set(entries.map(({ target }) => target.closest<HTMLElement>('.table-wide')!))) {
      if (table.scrollWidth > table.clientWidth) table.tabIndex = 0;
      else table.removeAttribute('tabindex');
    }
  });
  for (const table of page.querySelectorAll<HTMLElement>('.table-wide')) {
    measure.observe(table);
    // Its contents may grow by themselves, as by faces that came.
    for (const content of table.children) measure.observe(content);
  }
}
