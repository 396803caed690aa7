/**
 * On a page that was opened from a folder the faces are at hand, and are taken as soon as they are read: over a network the page keeps what it was first
 * drawn with, so that nothing jumps, and a phone keeps its own.
 */
export function takeFaces(page: Document): void {
  for (const sheet of page.styleSheets) {
    // Of a style sheet in a file of its own a page from a folder may not read the rules.
    if (sheet.href !== null) continue;
    for (const rule of Array.from(sheet.cssRules).flatMap((r) =>
      r instanceof CSSMediaRule ? [...r.cssRules] : r,
    )) {
      if (!(rule instanceof CSSFontFaceRule)) continue;
      const { style } = rule;
      const face = new FontFace(
        style.getPropertyValue('font-family').replaceAll(/["']/g, ''),
        style.getPropertyValue('src'),
        { weight: style.getPropertyValue('font-weight'), display: 'swap' },
      );
      page.fonts.add(face);
      void face.load().catch(() => page.fonts.delete(face));
    }
  }
}
