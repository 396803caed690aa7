/** Lets the keyboard reach tables that are wider than the window, to push them along. */
export function reachWideTables(page: Document): void {
  for (const table of page.querySelectorAll<HTMLElement>('.table-wide')) {
    if (table.scrollWidth > table.clientWidth) table.tabIndex = 0;
    else table.removeAttribute('tabindex');
  }
}
