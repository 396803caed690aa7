import '../styles/site.css';
import { explainTimeline } from './hover.ts';
import { tellStaleness } from './staleness.ts';
import { controlZoom } from './zoom-control.ts';
import type { ZoomTask } from './zoom-task.ts';

tellStaleness(document, Date.now());
// A page left open overnight must not stay green.
setInterval(() => tellStaleness(document, Date.now()), 60_000);

for (const container of document.querySelectorAll<HTMLElement>('[data-zoom]')) {
  const task = JSON.parse(container.dataset['zoom']!) as ZoomTask;
  explainTimeline(container, task.timeZone);
  controlZoom(container, task, location.protocol.startsWith('http'));
}
