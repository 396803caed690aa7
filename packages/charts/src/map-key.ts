import { axisNames, localDigits, t } from '@stillmark/words';
import type { Box } from './labels.ts';
import { layerClass } from './map-background.ts';
import { arrow, bar, movedBar } from './map-signs.ts';
import type { MapTask } from './network-map.ts';
import { el, label, round, textWidth } from './svg.ts';

/** A sign and what it means. */
interface Entry {
  readonly shape: (x: number, y: number) => string;
  readonly words: string;
}

const keySize = 12.5;
const rowHeight = 24;
/** From the end of the plot to the first row of signs: the two scales. */
const scalesHeight = 54;

/** The key of a map: its height is known before the plot is. */
export interface MapKey {
  readonly height: number;
  readonly draw: (plot: Box, pxPerMetre: number, pxPerMm: number) => string;
}

/**
 * Two scales, of the ground and of movement, and what the signs mean, in as many rows as they need.
 *
 * @param left where the plot begins
 * @param up whether movement up or down is drawn
 */
export function mapKey(task: MapTask, left: number, up: boolean): MapKey {
  const { width, height: figureHeight } = task;
  const moves = task.stations.some(({ displacement }) => displacement);
  let [x, row] = [left + 6, 0];
  const placed = entriesOf(task, moves, up).map(({ shape, words: said }) => {
    const words = fitting(said, width - left - 24);
    const needed = 12 + textWidth(words, keySize);
    if (x + needed > width) [x, row] = [left + 6, row + 1];
    const at = { shape, words, x, row };
    x += needed + 22;
    return at;
  });
  const height = scalesHeight + rowHeight * (row + 1);
  return {
    height,
    draw: (plot, pxPerMetre, pxPerMm) => {
      const top = figureHeight - height + 20;
      const whole = width - left;
      // On a phone the words of the second bar take half of the figure.
      const [begin, wanted] = width > 560 ? [0.5, 0.175] : [0.4, 0.125];
      const place = { x: plot.x + begin * whole, y: top, wanted: wanted * whole };
      return el(
        'g',
        { class: 'key' },
        bar(plot.x, top, pxPerMetre, whole * 0.5 * begin, (m) => `${localDigits(String(m))}\u202fm`),
        moves
          ? el(
              'g',
              { class: 'moved-scale', 'data-x': place.x, 'data-y': place.y, 'data-wanted': place.wanted },
              movedBar(place, pxPerMm, pxPerMetre),
            )
          : '',
        ...placed.map((entry) => {
          const y = top + 36 + rowHeight * entry.row;
          return entry.shape(entry.x, y) + label(entry.x + 12, y + 4, entry.words);
        }),
      );
    },
  };
}

/** A name that is wider than the figure is cut off. */
function fitting(words: string, width: number): string {
  if (textWidth(words, keySize) <= width) return words;
  let cut = words;
  while (textWidth(`${cut}…`, keySize) > width) cut = cut.slice(0, -1);
  return `${cut.trimEnd()}…`;
}

const group = (name: string, ...shapes: string[]): string => el('g', { class: name }, ...shapes);

function entriesOf(
  { confidence, outline, lines, background }: MapTask,
  moves: boolean,
  up: boolean,
): Entry[] {
  const entries: Entry[] = [
    {
      shape: (x, y) => group('mark base', el('path', { d: `M${round(x)} ${y - 6}l6 11h-12z` })),
      words: t`base`,
    },
    {
      shape: (cx, cy) => group('mark monitoring', el('circle', { cx, cy, r: 5 })),
      words: t`monitoring station`,
    },
  ];
  const add = (words: string, shape: Entry['shape']): unknown => entries.push({ shape, words });
  if (moves) {
    add(t`${confidence} ellipse`, (cx, cy) =>
      group('vector hollow', el('ellipse', { class: 'ellipse', cx, cy, rx: 8, ry: 5 })),
    );
    add(t`moved`, (x, y) => group('vector solid', arrow(x - 8, y, x + 8, y, true)));
    add(t`not distinguishable`, (x, y) => group('vector hollow', arrow(x - 8, y, x + 8, y, false)));
    if (up)
      add(axisNames.up, (x, y) =>
        group(
          'vertical hollow',
          el('rect', { class: 'band', x: x - 3, y: y - 8, width: 6, height: 16 }),
          el('path', { class: 'tip', d: `M${round(x - 4)} ${y}h8` }),
        ),
      );
  } else {
    if (lines && lines.between.length > 0)
      add(lines.words, (x, y) => el('path', { class: 'baseline', d: `M${round(x - 8)} ${y}h16` }));
    if (outline.some(({ kind }) => kind === 'zone'))
      add(t`zone of influence`, (x, y) =>
        group('outline', el('path', { class: 'zone area', d: `M${round(x - 8)} ${y - 6}h16v12h-16z` })),
      );
  }
  background?.layers.forEach(({ name }, i) =>
    add(name, (x, y) => group(layerClass(i), el('path', { d: `M${round(x - 9)} ${y}h18` }))),
  );
  if (background?.image)
    add(background.image.name, (x, y) =>
      el('rect', { class: 'image-sample', x: x - 8, y: y - 6, width: 16, height: 12 }),
    );
  return entries;
}
