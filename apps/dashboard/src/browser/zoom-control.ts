import type { TimelineAxis } from '@stillmark/charts';
import { formatNumber, ZoneClock } from '@stillmark/wording';
import { t } from '@stillmark/words';
import { followHand } from './gestures.ts';
import { makeReachable } from './hover.ts';
import { once } from './once.ts';
import { replaceDrawing } from './replace-drawing.ts';
import { runScript } from './script.ts';
import { SpanBar } from './span-bar.ts';
import type { FigureSize, Shown, SpanDrawer, ZoomTask } from './zoom-task.ts';

/** So long after the last movement of the hand the figure is drawn at the scale that it fills. */
const settledAfterMs = 250;

const sizes: readonly FigureSize[] = ['wide', 'narrow'];

/** Buttons, dates and the hand itself draw a part of the timeline anew, from the series that the site carries. */
export function controlZoom(container: HTMLElement, task: ZoomTask, served: boolean): void {
  const element = container.querySelector<HTMLElement>('.zoom');
  const axis = element?.querySelector<HTMLSelectElement>('[data-axis]');
  if (!element || !axis) return;
  const clock = new ZoneClock(task.timeZone);
  const bar = new SpanBar(element, { first: task.firstMs, last: task.lastMs, clock }, (how) => {
    if (how === 'at once') void settle();
    else goOn();
  });
  if (!served && !task.carried) {
    bar.disable(t`Part of the figure can be shown once this site is on a web server.`);
    return;
  }

  const { note } = bar;
  const places = sizes.map((size) => container.querySelector<HTMLElement>(`.at-${size}`)!);
  /** The drawings that the page came with, once others stand there. */
  let originals: string[] | undefined;
  const isAsItCame = (): boolean => bar.part === undefined && axis.value === '';
  const shown = (): Shown => ({
    span: bar.shown,
    axis: axis.value === '' ? undefined : (axis.value as TimelineAxis),
  });
  const put = (place: HTMLElement, drawing: string): void => {
    originals ??= places.map((each) => each.innerHTML);
    replaceDrawing(place, drawing);
    makeReachable(container);
  };

  let atHand: SpanDrawer | undefined;
  const ready = once(async () => {
    await runScript(task.drawing);
    return (atHand = globalThis.stillmarkZoom!(task, served, sketchSoon));
  });

  let asked = 0;
  let settling = 0;
  const settle = async (): Promise<void> => {
    const mine = ++asked;
    clearTimeout(settling);
    settling = 0;
    container.classList.remove('moving');
    // The same time at another station is one step away.
    bar.tell(
      document.querySelectorAll<HTMLAnchorElement>('.neighbours a'),
      axis.value === '' ? {} : { axis: axis.value },
    );
    if (isAsItCame()) {
      note.textContent = '';
      originals?.forEach((drawing, i) => put(places[i]!, drawing));
      return;
    }
    note.textContent ||= t`drawing …`;
    try {
      const pen = await ready();
      const [drawings, coarseMs] = await Promise.all([pen.draw(shown()), pen.coarse()]);
      if (mine !== asked) return;
      places.forEach((place, i) => put(place, drawings[sizes[i]!]));
      note.textContent =
        coarseMs > 0
          ? t`Opened from a folder, epochs are shown as the least and the greatest of each ${lengthText(coarseMs)}, and long logs likewise; on a web server single ones are.`
          : '';
    } catch {
      if (mine === asked) note.textContent = t`The data of this figure cannot be fetched.`;
    }
  };

  let frame = 0;
  const sketchSoon = (): void => {
    frame ||= requestAnimationFrame(() => {
      frame = 0;
      // What was asked for before the last drawing may come after it.
      if (settling === 0) return;
      const i = places.findIndex((place) => place.getClientRects().length > 0);
      const drawing = i < 0 ? undefined : atHand?.sketch(shown(), sizes[i]!);
      if (drawing === undefined) return;
      container.classList.add('moving');
      put(places[i]!, drawing);
    });
  };
  const goOn = (): void => {
    // A drawing that is still underway is of what is shown no more.
    asked++;
    if (!atHand) ready().catch(() => undefined);
    clearTimeout(settling);
    settling = Number(setTimeout(() => void settle(), settledAfterMs));
    sketchSoon();
  };

  axis.addEventListener('change', () => void settle());
  followHand(container, {
    shown: () => bar.shown,
    move: (span) => bar.move(span),
    whole: () => bar.showAll(),
  });

  // A link that names a span or an axis shows it.
  const wanted = new URLSearchParams(location.search).get('axis');
  if (wanted !== null && Array.from(axis.options).some(({ value }) => value === wanted)) axis.value = wanted;
  if (!bar.showLinked() && axis.value !== '') void settle();
}

function lengthText(ms: number): string {
  if (ms < 60_000) return `${ms / 1000} s`;
  const hours = ms / 3_600_000;
  return hours < 1
    ? `${Math.round(60 * hours)} min`
    : `${formatNumber(Number(hours.toFixed(1)), hours % 1 === 0 ? 0 : 1)} h`;
}
