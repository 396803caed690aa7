import { dayMs } from '@stillmark/records';
import type { TimeSpan } from '@stillmark/snapshot/series';
import { ZoneClock } from '@stillmark/wording';
import { t } from '@stillmark/words';
import { makeReachable } from './hover.ts';
import type { ZoomTask } from './zoom-task.ts';

/** Room behind the newest epoch for each day that is shown, so that its mark is whole. */
const marginMs = 0.01 * dayMs;

/** Buttons and dates that draw a part of the timeline anew, from the series that the site carries. */
export function controlZoom(container: HTMLElement, task: ZoomTask, served: boolean): void {
  const bar = container.querySelector<HTMLElement>('.zoom');
  const note = container.querySelector<HTMLElement>('.zoom-note');
  if (!bar || !note) return;
  const buttons = Array.from(bar.querySelectorAll<HTMLButtonElement>('button'));
  const from = bar.querySelector<HTMLInputElement>('[data-from]')!;
  const to = bar.querySelector<HTMLInputElement>('[data-to]')!;
  const axis = bar.querySelector<HTMLSelectElement>('[data-axis]')!;
  if (!served) {
    for (const control of [...buttons, from, to, axis]) control.disabled = true;
    note.textContent = t`Part of the figure can be shown once this site is on a web server.`;
    return;
  }

  const clock = new ZoneClock(task.timeZone);
  const { firstMs: first, lastMs: last } = task;
  const places = ['wide', 'narrow'].map((size) => container.querySelector<HTMLElement>(`.at-${size}`)!);
  const originals = places.map((place) => place.innerHTML);
  const dayOf = (ms: number): string => new Date(ms + clock.offsetMs(ms)).toISOString().slice(0, 10);
  const startOf = (day: string): number => {
    const near = Date.parse(`${day}T00:00:00Z`);
    return near - clock.offsetMs(near);
  };
  for (const input of [from, to]) [input.min, input.max] = [dayOf(first), dayOf(last)];
  [from.value, to.value] = [dayOf(first), dayOf(last)];

  const whole = { fromMs: first, toMs: last + ((last - first) / dayMs) * marginMs };
  const asLink = (span: TimeSpan | undefined): void => {
    const words = new URLSearchParams(
      span ? { from: dayOf(span.fromMs), to: dayOf(Math.min(last, span.toMs - 1)) } : {},
    );
    if (axis.value !== '') words.set('axis', axis.value);
    const text = words.size > 0 ? `?${words}` : '';
    history.replaceState(undefined, '', `${location.pathname}${text}${location.hash}`);
    // The same time at another station is one step away.
    for (const link of document.querySelectorAll<HTMLAnchorElement>('.neighbours a')) link.search = text;
  };

  let asked = 0;
  let shown: { span: TimeSpan | undefined; pressed: HTMLButtonElement | undefined } = {
    span: undefined,
    pressed: buttons[0],
  };
  const show = async (span: TimeSpan | undefined, pressed?: HTMLButtonElement): Promise<void> => {
    const mine = ++asked;
    shown = { span, pressed };
    asLink(span);
    for (const button of buttons) button.setAttribute('aria-pressed', String(button === pressed));
    note.textContent = '';
    let drawings = originals;
    if (span || axis.value !== '') {
      note.textContent = t`drawing …`;
      try {
        await load(task.script);
        drawings = await globalThis.stillmarkZoom!(oneAxis(task, axis.value), span ?? whole);
      } catch {
        note.textContent = t`The data of this figure cannot be fetched.`;
        return;
      }
      if (mine !== asked) return;
      note.textContent = '';
    }
    places.forEach((place, i) => (place.innerHTML = drawings[i]!));
    [from.value, to.value] = span
      ? [dayOf(span.fromMs), dayOf(Math.min(last, span.toMs - 1))]
      : [dayOf(first), dayOf(last)];
    makeReachable(container);
  };

  for (const button of buttons) {
    button.addEventListener('click', () => {
      const days = Number(button.dataset['days']);
      void show(
        days > 0 ? { fromMs: Math.max(first, last - days * dayMs), toMs: last + days * marginMs } : undefined,
        button,
      );
    });
  }
  const chosen = (): void => {
    if (!from.value || !to.value) return;
    const span = { fromMs: startOf(from.value), toMs: startOf(to.value) + dayMs };
    if (span.toMs > span.fromMs) void show(span);
    else note.textContent = t`The last day lies before the first.`;
  };
  from.addEventListener('change', chosen);
  to.addEventListener('change', chosen);
  axis.addEventListener('change', () => void show(shown.span, shown.pressed));

  // A link that names a span or an axis shows it.
  const query = new URLSearchParams(location.search);
  const wanted = query.get('axis');
  if (wanted !== null && Array.from(axis.options).some(({ value }) => value === wanted)) axis.value = wanted;
  const [begin, end] = ['from', 'to'].map((name) => query.get(name));
  if (begin && end && /^\d{4}-\d\d-\d\d$/.test(begin) && /^\d{4}-\d\d-\d\d$/.test(end)) {
    [from.value, to.value] = [begin, end];
    chosen();
  } else if (axis.value !== '') void show(undefined, buttons[0]);
}

/** The task with one axis alone; with all of them where none is named. */
function oneAxis(task: ZoomTask, axis: string): ZoomTask {
  const axes = task.words.axes.filter((a) => a.axis === axis);
  return axes.length === 0 ? task : { ...task, words: { ...task.words, axes } };
}

let loading: Promise<void> | undefined;

/** The drawing code is fetched when it is first asked for: most readers never do. */
function load(address: string): Promise<void> {
  loading ??= new Promise((resolve, reject) => {
    const script = document.createElement('script');
    script.src = address;
    script.addEventListener('load', () => resolve());
    script.addEventListener('error', () => {
      loading = undefined;
      reject(new Error('not fetched'));
    });
    document.head.append(script);
  });
  return loading;
}
