import { commas, ZoneClock } from '@stillmark/wording';
import { t } from '@stillmark/words';
import { marksOf, nearestMark, readingOf, type Panel } from './timeline-marks.ts';

/** How far from a mark the pointer may be, in pixels of the drawing. */
const reach = 8;

/**
 * Shows the values under the pointer, or under a cursor that the arrow keys move, in a line below the figure. Reads them from
 * the drawing itself, so it works on pages opened from a folder too.
 */
export function explainTimeline(container: HTMLElement, timeZone: string): void {
  const readout = container.querySelector<HTMLElement>('.readout');
  if (!readout) return;
  const clock = new ZoneClock(timeZone);
  // What is drawn in a figure may be replaced: what was read from it holds for its panels.
  const panelsOf = new WeakMap<Element, Panel[]>();
  const panels = (svg: SVGSVGElement): Panel[] => {
    const drawn = svg.querySelector('.panel');
    if (!drawn) return [];
    let found = panelsOf.get(drawn);
    if (!found) panelsOf.set(drawn, (found = readPanels(svg)));
    return found;
  };

  const showAt = (svg: SVGSVGElement, x: number): void => {
    const { from, to, left, right } = svg.dataset;
    const [first] = panels(svg);
    const at = first && nearestMark(first.marks, x, reach);
    const cursor = svg.querySelector<SVGPathElement>('.cursor');
    cursor?.classList.toggle('shown', at !== undefined);
    if (!at) {
      readout.textContent = t`no mean here`;
      return;
    }
    cursor?.setAttribute('transform', `translate(${at.x} 0)`);
    const share = (at.x - Number(left)) / (Number(right) - Number(left));
    const time = clock.dateTime(Number(from) + share * (Number(to) - Number(from)));
    const values = panels(svg).flatMap((panel) => {
      const mark = nearestMark(panel.marks, at.x, reach);
      return mark ? [readingOf(panel, mark)] : [];
    });
    readout.textContent = t`near ${time}: ${commas(values)}`;
    svg.dataset['cursor'] = String(at.x);
  };

  container.addEventListener('pointermove', (event) => {
    const svg = (event.target as Element).closest<SVGSVGElement>('svg[data-from]');
    // While a figure is dragged nothing stands still to be read.
    if (!svg || event.buttons !== 0) return;
    const box = svg.getBoundingClientRect();
    showAt(svg, ((event.clientX - box.left) / box.width) * svg.viewBox.baseVal.width);
  });
  container.addEventListener('pointerleave', () => {
    readout.textContent = '';
    container.querySelectorAll('.cursor').forEach((cursor) => cursor.classList.remove('shown'));
  });
  container.addEventListener('keydown', (event) => {
    const svg = (event.target as Element).closest<SVGSVGElement>('svg[data-from]');
    const step = event.shiftKey ? 0 : event.key === 'ArrowRight' ? 1 : event.key === 'ArrowLeft' ? -1 : 0;
    const marks = svg ? panels(svg)[0]?.marks : undefined;
    if (!svg || !marks?.length || step === 0) return;
    event.preventDefault();
    const standing = svg.dataset['cursor'];
    const index = standing === undefined ? -1 : marks.findIndex((m) => m.x === Number(standing));
    const next = index < 0 ? marks.length - 1 : Math.min(marks.length - 1, Math.max(0, index + step));
    showAt(svg, marks[next]!.x);
  });
  makeReachable(container);
}

/** Lets the keyboard reach the figures. */
export function makeReachable(container: HTMLElement): void {
  container.querySelectorAll('svg[data-from]').forEach((svg) => svg.setAttribute('tabindex', '0'));
}

function readPanels(svg: SVGSVGElement): Panel[] {
  return Array.from(svg.querySelectorAll<SVGGElement>('.panel'), (group) => ({
    name: group.dataset['name'] ?? '',
    marks: marksOf(group.querySelector('.windows')?.getAttribute('d') ?? ''),
    zero: Number(group.dataset['zero']),
    pxPerMm: Number(group.dataset['pxPerMm']),
  }));
}
