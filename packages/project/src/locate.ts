import type { Location } from '@stillmark/problems';
import { isMap, isPair, isScalar, LineCounter, parseDocument, type Document, type Node } from 'yaml';

/** A YAML file with the way back from a value to its place. */
export interface LocatedYaml {
  readonly file: string;
  readonly document: Document.Parsed;
  /** Place of the value at a path; of the nearest thing above it where the path ends early. */
  locate(path: readonly PropertyKey[]): Location;
  /** Place of a key of the mapping at a path. */
  locateKey(path: readonly PropertyKey[], key: string): Location;
  line(number: number | undefined): string | undefined;
  placeOf(offset: number): Location;
}

export function parseLocated(text: string, file: string): LocatedYaml {
  const counter = new LineCounter();
  const document = parseDocument(text, {
    lineCounter: counter,
    prettyErrors: false,
    version: '1.2',
    // Stations resemble each other: one may take over what another has, with <<.
    merge: true,
    logLevel: 'error',
  });
  const lines = text.split(/\r?\n/);

  const placeOf = (offset: number): Location => {
    const { line, col } = counter.linePos(offset);
    return { file, line, column: col };
  };
  const place = (node: Node | null | undefined): Location | undefined =>
    node?.range ? placeOf(node.range[0]) : undefined;
  const nodeAt = (path: readonly PropertyKey[]): Node | null | undefined =>
    (path.length === 0 ? document.contents : document.getIn(path as unknown[], true)) as
      Node | null | undefined;

  const locate = (path: readonly PropertyKey[]): Location => {
    const found = place(nodeAt(path));
    if (found) return found;
    if (path.length === 0) return { file, line: 1, column: 1 };
    // A value that is missing: point at the key that should have held it, else at what it belongs to.
    return locate(path.slice(0, -1));
  };

  return {
    file,
    document,
    locate,
    placeOf,
    locateKey(path, key) {
      const map = nodeAt(path);
      if (isMap(map)) {
        const pair = map.items.find(
          (item) => isPair(item) && isScalar(item.key) && String(item.key.value) === key,
        );
        const found = pair && place(pair.key as Node);
        if (found) return found;
      }
      return locate(path);
    },
    line: (number) => (number === undefined ? undefined : lines[number - 1]),
  };
}
