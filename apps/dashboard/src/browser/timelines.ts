import './main.ts';
import { explainTimeline } from './hover.ts';
import { controlMultiples } from './multiples-control.ts';
import type { MultiplesTask } from './multiples-task.ts';
import { controlZoom } from './zoom-control.ts';
import type { ZoomTask } from './zoom-task.ts';

const served = location.protocol.startsWith('http');
for (const container of document.querySelectorAll<HTMLElement>('[data-zoom]')) {
  const task = JSON.parse(container.dataset['zoom']!) as ZoomTask;
  explainTimeline(container, task.timeZone);
  controlZoom(container, task, served);
}
for (const container of document.querySelectorAll<HTMLElement>('[data-multiples]'))
  controlMultiples(container, JSON.parse(container.dataset['multiples']!) as MultiplesTask, served);
