/** A piece of a message with elements in it: text, the number of a place, or an element by its number with what stands in it. */
export type Piece = string | number | readonly [number, ...Piece[]];

/**
 * Takes a message apart: `Figures hold with {0}. <1>Method</1>.` Elements are named by the number of their place. Everything else is text,
 * also `<script>`. Throws a RangeError where an element is not closed in its place.
 */
export function piecesOf(message: string): Piece[] {
  const stack: { readonly of: number; readonly pieces: Piece[] }[] = [{ of: -1, pieces: [] }];
  let end = 0;
  for (const match of message.matchAll(/\{(\d+)\}|<(\d+)>|<\/(\d+)>/g)) {
    const [whole, place, open, close] = match;
    const inner = stack.at(-1)!;
    if (match.index > end) inner.pieces.push(message.slice(end, match.index));
    end = match.index + whole.length;
    if (place !== undefined) inner.pieces.push(Number(place));
    else if (open !== undefined) stack.push({ of: Number(open), pieces: [] });
    else {
      if (inner.of !== Number(close)) throw new RangeError(`</${close}> closes nothing`);
      stack.pop();
      stack.at(-1)!.pieces.push([inner.of, ...inner.pieces]);
    }
  }
  if (stack.length > 1) throw new RangeError(`<${stack.at(-1)!.of}> is not closed`);
  if (end < message.length) stack[0]!.pieces.push(message.slice(end));
  return stack[0]!.pieces;
}

/** What is wrong with a translation: a figure that it leaves out, names twice or makes up would be a wrong statement. Undefined where nothing is. */
export function faultOf(message: string, translation: string): string | undefined {
  try {
    const [asked, given] = [placesOf(piecesOf(message)), placesOf(piecesOf(translation))];
    const lacking = asked.filter((place) => !given.includes(place));
    const strange = given.filter((place) => !asked.includes(place));
    const often = given.find((place, i) => given.indexOf(place) !== i && !twice(asked, place));
    if (lacking.length > 0) return `it leaves out ${lacking.join(' and ')}`;
    if (strange.length > 0) return `it has ${strange.join(' and ')}, which the message has not`;
    if (often !== undefined) return `it has ${often} twice`;
    return undefined;
  } catch (error) {
    return error instanceof RangeError ? error.message : String(error);
  }
}

const twice = (places: readonly string[], place: string): boolean =>
  places.indexOf(place) !== places.lastIndexOf(place);

function placesOf(pieces: readonly Piece[]): string[] {
  return pieces.flatMap((piece) => {
    if (typeof piece === 'string') return [];
    if (typeof piece === 'number') return [`{${piece}}`];
    const [of, ...inner] = piece;
    return [`<${of}>`, ...placesOf(inner)];
  });
}
