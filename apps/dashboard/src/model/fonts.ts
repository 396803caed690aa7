/**
 * Faces of the site: Source Serif 4 and Source Sans 3, SIL Open Font License 1.1; served with the site, nothing is fetched from elsewhere. They are optional:
 * where a line is slow the page keeps the faces it was first drawn with, and nothing jumps. Phones keep their own: of a slow line four files would take half
 * of what a first page weighs, and would come after it is drawn.
 */
export const fonts = [
  { family: 'Source Serif 4', name: 'source-serif-4', weights: [400, 600] },
  { family: 'Source Sans 3', name: 'source-sans-3', weights: [400, 600] },
] as const;

/** Names of the files among the assets of the site, and where their packages keep them. */
export const fontFiles: readonly { readonly file: string; readonly source: string }[] = fonts.flatMap(
  ({ name, weights }) =>
    weights.map((weight) => {
      const file = `${name}-latin-${weight}-normal.woff2`;
      return { file, source: `@fontsource/${name}/files/${file}` };
    }),
);

/** Where the faces of the site are fetched: the other way round than in the styles of narrow windows. */
export const roomForFaces = '@media not all and (max-width:40rem)';

/** The faces as style of a page, by the way to the top folder of its site. */
export function fontStyle(root: string): string {
  const faces = fonts
    .flatMap(({ family, name, weights }) =>
      weights.map(
        (weight) =>
          `@font-face{font-family:'${family}';font-weight:${weight};font-display:optional;src:url(${root}assets/${name}-latin-${weight}-normal.woff2) format('woff2')}`,
      ),
    )
    .join('');
  return `${roomForFaces}{${faces}}`;
}
