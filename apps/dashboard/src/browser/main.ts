import { takeFaces } from './faces.ts';
import { findStations } from './find-station.ts';
import { offerPictures } from './pictures.ts';
import { placeOf } from './published-place.ts';
import { reachWideTables } from './reachable.ts';
import { tellEachStaleness, tellStaleness } from './staleness.ts';
import { runScript } from './script.ts';
import { speakAsPage } from './words.ts';

speakAsPage(document);

const tell = (): void => {
  tellStaleness(document, Date.now());
  tellEachStaleness(document, Date.now());
};
tell();
// A page left open overnight must not stay green.
setInterval(tell, 60_000);

if (location.protocol === 'file:') takeFaces(document);

// The paper that a report is printed on. What leads out of it would lead to a folder of this machine: its address is printed instead.
const paper = new URLSearchParams(location.search).get('paper');
if (paper === 'a4' || paper === 'letter') {
  document.documentElement.dataset['paper'] = paper;
  for (const link of document.querySelectorAll('a[href]:not([href^="#"], [href^="http"])')) {
    link.setAttribute('data-file', link.getAttribute('href')!);
    link.removeAttribute('href');
  }
}
// Where a printed page is from, where that is a place for others too.
if (location.protocol !== 'file:')
  document.querySelector<HTMLElement>('.colophon')!.dataset['address'] ??= location.href;

reachWideTables(document);

findStations(document, location);
// What leads to other snapshots is asked for where there may be some.
const root = document.querySelector<HTMLElement>('[data-published]')?.dataset['published'];
if (root !== undefined && placeOf(new URL(root || '.', document.baseURI).href))
  void runScript(`${root}assets/stillmark-published.js`).catch(() => undefined);
offerPictures(document);
