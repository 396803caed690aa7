import type { TimelineAxis } from '@stillmark/charts';
import { dayMs } from '@stillmark/records';
import type { TimeSpan } from '@stillmark/snapshot/series';
import { ZoneClock } from '@stillmark/wording';
import { followHand, pressed } from './gestures.ts';
import { makeReachable } from './hover.ts';
import { runScript } from './script.ts';
import { along, clamped, closer } from './span.ts';
import { spanOfLink, wordsOfSpan } from './span-link.ts';
import type { FigureSize, Shown, SpanDrawer, ZoomTask } from './zoom-task.ts';

/** Room behind the newest epoch for each day that is shown, so that its mark is whole. */
const marginMs = 0.01 * dayMs;
/** So long after the last movement of the hand the figure is drawn at the scale that it fills. */
const settledAfterMs = 250;

const sizes: readonly FigureSize[] = ['wide', 'narrow'];

/** Buttons, dates and the hand itself draw a part of the timeline anew, from the series that the site carries. */
export function controlZoom(container: HTMLElement, task: ZoomTask, served: boolean): void {
  const bar = container.querySelector<HTMLElement>('.zoom');
  const note = container.querySelector<HTMLElement>('.zoom-note');
  if (!bar || !note) return;
  const spans = Array.from(bar.querySelectorAll<HTMLButtonElement>('[data-days]'));
  const from = bar.querySelector<HTMLInputElement>('[data-from]')!;
  const to = bar.querySelector<HTMLInputElement>('[data-to]')!;
  const axis = bar.querySelector<HTMLSelectElement>('[data-axis]')!;
  if (!served && !task.carried) {
    for (const control of bar.querySelectorAll<HTMLButtonElement>('button, input, select'))
      control.disabled = true;
    note.textContent = 'Part of the figure can be shown once this site is on a web server.';
    return;
  }

  const clock = new ZoneClock(task.timeZone);
  const { firstMs: first, lastMs: last } = task;
  const whole = { fromMs: first, toMs: last + ((last - first) / dayMs) * marginMs };
  const places = sizes.map((size) => container.querySelector<HTMLElement>(`.at-${size}`)!);
  const originals = places.map((place) => place.innerHTML);
  const dayOf = (ms: number): string => new Date(ms + clock.offsetMs(ms)).toISOString().slice(0, 10);
  for (const input of [from, to]) [input.min, input.max] = [dayOf(first), dayOf(last)];

  /** The part that is shown; the whole, as the page came, where there is none. */
  let part: TimeSpan | undefined;
  const isAsItCame = (): boolean => part === undefined && axis.value === '';
  const shown = (): Shown => ({
    span: part ?? whole,
    axis: axis.value === '' ? undefined : (axis.value as TimelineAxis),
  });

  let drawer: Promise<SpanDrawer> | undefined;
  let atHand: SpanDrawer | undefined;
  const ready = (): Promise<SpanDrawer> =>
    (drawer ??= runScript(task.drawing)
      .then(() => (atHand = globalThis.stillmarkZoom!(task, served, sketchSoon)))
      .catch((error: unknown) => {
        drawer = undefined;
        throw error;
      }));

  const tellSpan = (): void => {
    [from.value, to.value] = [
      dayOf((part ?? whole).fromMs),
      dayOf(Math.min(last, (part?.toMs ?? last + 1) - 1)),
    ];
    const words = new URLSearchParams(part ? wordsOfSpan(part, clock, last) : {});
    if (axis.value !== '') words.set('axis', axis.value);
    const text = words.size > 0 ? `?${words}` : '';
    history.replaceState(undefined, '', `${location.pathname}${text}${location.hash}`);
    // The same time at another station is one step away.
    for (const link of document.querySelectorAll<HTMLAnchorElement>('.neighbours a')) link.search = text;
  };

  let asked = 0;
  const settle = async (): Promise<void> => {
    const mine = ++asked;
    clearTimeout(settling);
    settling = 0;
    container.classList.remove('moving');
    tellSpan();
    if (isAsItCame()) {
      note.textContent = '';
      places.forEach((place, i) => replaceDrawing(place, originals[i]!));
      return;
    }
    note.textContent ||= 'drawing …';
    try {
      const pen = await ready();
      const [drawings, coarseMs] = await Promise.all([pen.draw(shown()), pen.coarse()]);
      if (mine !== asked) return;
      places.forEach((place, i) => replaceDrawing(place, drawings[sizes[i]!]));
      note.textContent =
        coarseMs > 0
          ? `Opened from a folder, epochs are shown as the least and the greatest of each ${lengthText(coarseMs)}; on a web server single ones are.`
          : '';
    } catch {
      if (mine === asked) note.textContent = 'The data of this figure cannot be fetched.';
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
      replaceDrawing(places[i]!, drawing);
    });
  };

  let settling = 0;
  const press = (button?: HTMLButtonElement): void => {
    for (const each of spans) each.setAttribute('aria-pressed', String(each === button));
  };
  const move = (span: TimeSpan): void => {
    const next = clamped(span, whole);
    part = next.toMs - next.fromMs < 0.999 * (whole.toMs - whole.fromMs) ? next : undefined;
    press(part ? undefined : spans[0]);
    if (!atHand) ready().catch(() => undefined);
    clearTimeout(settling);
    settling = Number(setTimeout(() => void settle(), settledAfterMs));
    sketchSoon();
  };
  const show = (span: TimeSpan | undefined, button?: HTMLButtonElement): void => {
    part = span;
    press(button);
    void settle();
  };

  for (const button of spans) {
    button.addEventListener('click', () => {
      const days = Number(button.dataset['days']);
      show(
        days > 0 ? { fromMs: Math.max(first, last - days * dayMs), toMs: last + days * marginMs } : undefined,
        button,
      );
    });
  }
  const steps: Record<string, (span: TimeSpan) => TimeSpan> = {
    earlier: (span) => along(span, -pressed.along),
    later: (span) => along(span, pressed.along),
    closer: (span) => closer(span, pressed.closer),
    wider: (span) => closer(span, 1 / pressed.closer),
  };
  for (const button of bar.querySelectorAll<HTMLButtonElement>('[data-step]'))
    button.addEventListener('click', () => move(steps[button.dataset['step']!]!(part ?? whole)));
  const chosen = (): void => {
    if (!from.value || !to.value) return;
    const span = spanOfLink(from.value, to.value, clock);
    if (span) show(span);
    else note.textContent = 'The last day lies before the first.';
  };
  from.addEventListener('change', chosen);
  to.addEventListener('change', chosen);
  axis.addEventListener('change', () => void settle());
  followHand(container, { shown: () => part ?? whole, move, whole: () => show(undefined, spans[0]) });

  // A link that names a span or an axis shows it.
  const query = new URLSearchParams(location.search);
  const wanted = query.get('axis');
  if (wanted !== null && Array.from(axis.options).some(({ value }) => value === wanted)) axis.value = wanted;
  const span = spanOfLink(query.get('from') ?? '', query.get('to') ?? '', clock);
  [from.value, to.value] = [dayOf(first), dayOf(last)];
  if (span) show(span);
  else if (axis.value !== '') show(undefined, spans[0]);

  /** Puts a drawing into the figure that stands, so that the keyboard stays where it was. */
  function replaceDrawing(place: HTMLElement, drawing: string): void {
    const template = document.createElement('template');
    template.innerHTML = drawing;
    const [next, old] = [template.content.querySelector('svg'), place.querySelector('svg')];
    if (!next || !old) return;
    for (const { name, value } of next.attributes) old.setAttribute(name, value);
    delete old.dataset['cursor'];
    old.replaceChildren(...next.childNodes);
    makeReachable(container);
  }
}

function lengthText(ms: number): string {
  const hours = ms / 3_600_000;
  return hours < 1 ? `${Math.round(60 * hours)} min` : `${Number(hours.toFixed(1))} h`;
}
