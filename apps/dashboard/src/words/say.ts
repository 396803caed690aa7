import { localDigits, piecesOf, translationOf, type Piece } from '@stillmark/words';
import { markHTMLString } from 'astro/runtime/server/index.js';

/** Draws what stands in a place: a figure, or an element around its content. */
type Place = (content?: unknown) => unknown;

/**
 * A message of a page with elements in it; the builder puts calls of this where text stands (see `astro-messages.ts`).
 *
 * @param id the message, under which its translation is kept
 * @param english the same as it stands in the source, with its line breaks; markup, since it is ours
 * @param places by number, what the message has in it
 */
export function say(id: string, english: readonly Piece[], places: readonly Place[]): unknown[] {
  const translation = translationOf(id);
  const fill = (pieces: readonly Piece[], text: (words: string) => unknown): unknown[] =>
    pieces.map((piece) => {
      if (typeof piece === 'string') return text(piece);
      if (typeof piece === 'number') return local(places[piece]?.());
      const [place, ...inner] = piece;
      return places[place]?.(fill(inner, text));
    });
  if (translation === undefined) return fill(english, markHTMLString);
  // Text of a translation is text: what draws the page escapes it.
  const [first, last] = [english[0], english.at(-1)];
  const before = typeof first === 'string' ? (/^[ \t\r\n]*/.exec(first)?.[0] ?? '') : '';
  const after = typeof last === 'string' ? (/[ \t\r\n]*$/.exec(last)?.[0] ?? '') : '';
  return [before, ...fill(piecesOf(translation), (words) => words), after];
}

const local = (value: unknown): unknown => (typeof value === 'number' ? localDigits(String(value)) : value);
