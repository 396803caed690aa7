import { takeFaces } from './faces.ts';
import { findStations } from './find-station.ts';
import { offerPictures } from './pictures.ts';
import { tellPublished } from './published.ts';
import { reachWideTables } from './reachable.ts';
import { tellEachStaleness, tellStaleness } from './staleness.ts';
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
addEventListener('resize', () => reachWideTables(document));
void document.fonts.ready.then(() => reachWideTables(document));

const served = location.protocol.startsWith('http');
findStations(document, location);
void tellPublished(document, served);
offerPictures(document);
