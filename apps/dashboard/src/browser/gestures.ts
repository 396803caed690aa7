import type { TimeSpan } from '@stillmark/snapshot/series';
import { along, closer } from './span.ts';

/** By how much a press of a key or a button shows less or more, and how far it goes along. */
export const pressed = { closer: 2, along: 0.5 } as const;

/**
 * Lets the hand move a figure through time: dragging goes along, the wheel with the control key and the keys + and - show less or more,
 * shift and an arrow key go along, 0 shows all. The wheel alone scrolls the page, and two fingers enlarge it, as everywhere.
 */
export function followHand(
  container: HTMLElement,
  { shown, move, whole }: { shown: () => TimeSpan; move: (to: TimeSpan) => void; whole: () => void },
): void {
  const figureAt = (target: EventTarget | null): SVGSVGElement | null =>
    target instanceof Element ? target.closest<SVGSVGElement>('svg[data-from]') : null;

  let drag: { id: number; x: number; msPerPixel: number; span: TimeSpan } | undefined;
  container.addEventListener('pointerdown', (event) => {
    const svg = figureAt(event.target);
    if (!svg || event.button !== 0 || !event.isPrimary) return;
    drag = { id: event.pointerId, x: event.clientX, msPerPixel: scaleOf(svg).msPerPixel, span: shown() };
    svg.parentElement!.setPointerCapture(event.pointerId);
  });
  container.addEventListener('pointermove', (event) => {
    if (drag?.id !== event.pointerId) return;
    const by = (drag.x - event.clientX) * drag.msPerPixel;
    if (by !== 0) move({ fromMs: drag.span.fromMs + by, toMs: drag.span.toMs + by });
  });
  for (const end of ['pointerup', 'pointercancel'] as const)
    container.addEventListener(end, (event) => {
      if (drag?.id === event.pointerId) drag = undefined;
    });

  container.addEventListener(
    'wheel',
    (event) => {
      const svg = figureAt(event.target);
      if (!svg || !(event.ctrlKey || event.metaKey)) return;
      event.preventDefault();
      move(closer(shown(), 2 ** (-event.deltaY / 200), scaleOf(svg).timeAt(event.clientX)));
    },
    { passive: false },
  );

  container.addEventListener('keydown', (event) => {
    if (!figureAt(event.target) || event.ctrlKey || event.metaKey || event.altKey) return;
    const step = keys[event.shiftKey && event.key.startsWith('Arrow') ? `shift ${event.key}` : event.key];
    if (step) move(step(shown()));
    else if (event.key === '0') whole();
    else return;
    event.preventDefault();
  });
}

const keys: Record<string, (span: TimeSpan) => TimeSpan> = {
  '+': (span) => closer(span, pressed.closer),
  '=': (span) => closer(span, pressed.closer),
  '-': (span) => closer(span, 1 / pressed.closer),
  'shift ArrowLeft': (span) => along(span, -pressed.along),
  'shift ArrowRight': (span) => along(span, pressed.along),
};

/** How a drawing's pixels on the screen stand for time. */
function scaleOf(svg: SVGSVGElement): { msPerPixel: number; timeAt: (clientX: number) => number } {
  const { from, to, left, right } = svg.dataset;
  const box = svg.getBoundingClientRect();
  const unit = box.width / svg.viewBox.baseVal.width;
  const msPerPixel = (Number(to) - Number(from)) / ((Number(right) - Number(left)) * unit);
  return { msPerPixel, timeAt: (x) => Number(from) + (x - box.left - Number(left) * unit) * msPerPixel };
}
