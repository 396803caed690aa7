import { takeFaces } from './faces.ts';
import { findStations } from './find-station.ts';
import { explainTimeline } from './hover.ts';
import { offerPictures } from './pictures.ts';
import { reachWideTables } from './reachable.ts';
import { tellEachStaleness, tellStaleness } from './staleness.ts';
import { speakAsPage } from './words.ts';
import { controlZoom } from './zoom-control.ts';
import type { ZoomTask } from './zoom-task.ts';

speakAsPage(document);

const tell = (): void => {
  tellStaleness(document, Date.now());
  tellEachStaleness(document, Date.now());
};
tell();
// A page left open overnight must not stay green.
setInterval(tell, 60_000);

if (location.protocol === 'file:') takeFaces(document);

// The paper that a report is printed on.
const paper = new URLSearchParams(location.search).get('paper');
if (paper === 'a4' || paper === 'letter') document.documentElement.dataset['paper'] = paper;

reachWideTables(document);
addEventListener('resize', () => reachWideTables(document));
void document.fonts.ready.then(() => reachWideTables(document));

findStations(document, location);
offerPictures(document);

for (const container of document.querySelectorAll<HTMLElement>('[data-zoom]')) {
  const task = JSON.parse(container.dataset['zoom']!) as ZoomTask;
  explainTimeline(container, task.timeZone);
  controlZoom(container, task, location.protocol.startsWith('http'));
}
