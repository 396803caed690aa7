import { ZoneClock } from '@stillmark/wording';
import { t } from '@stillmark/words';
import { smallTimelineSize, type MultiplesTask } from './multiples-task.ts';
import { once } from './once.ts';
import { replaceDrawing } from './replace-drawing.ts';
import { runScript } from './script.ts';
import { SpanBar } from './span-bar.ts';

/** Buttons and dates draw the same span of all stations, at the scale of the page, and let the links to them hold it. */
export function controlMultiples(container: HTMLElement, task: MultiplesTask, served: boolean): void {
  const element = container.querySelector<HTMLElement>('.zoom');
  if (!element) return;
  const { fromMs: first, toMs: last } = task.span;
  const bar = new SpanBar(element, { first, last, clock: new ZoneClock(task.timeZone) }, () => void draw());
  if (!served && task.stations.some(({ carried }) => !carried)) {
    bar.disable(t`Part of the figures can be shown once this site is on a web server.`);
    return;
  }
  const links = container.querySelectorAll<HTMLAnchorElement>('h2 a');
  const places = task.stations.flatMap(({ id }) =>
    (['wide', 'narrow'] as const).map((size) => {
      const title = document.getElementById(`${smallTimelineSize(id, size).id}-title`)!;
      const place = title.closest('svg')!.parentElement!;
      return { id, size, place, original: place.innerHTML };
    }),
  );
  const drawer = once(async () => {
    await runScript(task.drawing);
    return globalThis.stillmarkMultiples!(task, served);
  });

  let asked = 0;
  const draw = async (): Promise<void> => {
    const mine = ++asked;
    bar.tell(links);
    bar.note.textContent = bar.part ? t`drawing …` : '';
    if (!bar.part) {
      for (const { place, original } of places) replaceDrawing(place, original);
      return;
    }
    try {
      const drawingOf = await (await drawer())(bar.shown);
      if (mine !== asked) return;
      for (const { id, size, place } of places) replaceDrawing(place, drawingOf(id, size));
      bar.note.textContent = '';
    } catch {
      if (mine === asked) bar.note.textContent = t`The data of these figures cannot be fetched.`;
    }
  };
  bar.showLinked();
}
