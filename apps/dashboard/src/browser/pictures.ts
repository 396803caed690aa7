import { t } from '@stillmark/words';

/** What of its style a picture must carry to look the same by itself. */
const carried = [
  'fill',
  'fill-opacity',
  'stroke',
  'stroke-width',
  'stroke-opacity',
  'stroke-dasharray',
  'stroke-linecap',
  'stroke-linejoin',
  'paint-order',
  'opacity',
  'filter',
  'font-size',
  'font-weight',
  'display',
] as const;

/** So many pixels of a picture stand in one of the page: enough for print. */
const scale = 2;

/** Offers each figure as SVG and PNG, as it is shown; nothing is fetched for it but the image under a map. */
export function offerPictures(page: Document): void {
  for (const button of page.querySelectorAll<HTMLButtonElement>('[data-picture]')) {
    const figure = button.closest('figure');
    if (figure)
      button.addEventListener('click', () => void save(figure, button.dataset['picture'] as 'SVG' | 'PNG'));
  }
}

async function save(figure: HTMLElement, kind: 'SVG' | 'PNG'): Promise<void> {
  const svg = Array.from(figure.querySelectorAll<SVGSVGElement>('svg.chart')).find(
    (s) => s.getClientRects().length > 0,
  );
  if (!svg) return;
  const text = await pictureOf(svg);
  const name = `${document.title.replaceAll(/[^\p{L}\p{N}]+/gu, '-')}-${svg.querySelector('title')?.id.replace(/-title$/, '') ?? 'figure'}${svg.dataset['pictureOf'] === undefined ? '' : `-${svg.dataset['pictureOf']}`}`;
  if (kind === 'SVG') hand(new Blob([text], { type: 'image/svg+xml' }), `${name}.svg`);
  else hand(await pixelsOf(text, svg), `${name}.png`);
}

/** The drawing with its style written into it, and with the image that lies under it. */
export async function pictureOf(svg: SVGSVGElement): Promise<string> {
  const copy = svg.cloneNode(true) as SVGSVGElement;
  const [from, to] = [svg, copy].map((s) => [s, ...s.querySelectorAll('*')]) as [Element[], Element[]];
  from.forEach((element, i) => {
    const style = getComputedStyle(element);
    for (const name of carried) {
      const value = style.getPropertyValue(name);
      if (value !== '') to[i]!.setAttribute(name, value);
    }
    to[i]!.removeAttribute('class');
  });
  await takeImages(copy);
  const { width, height } = svg.viewBox.baseVal;
  copy.setAttribute('xmlns', 'http://www.w3.org/2000/svg');
  copy.setAttribute('width', String(width));
  copy.setAttribute('height', String(height));
  copy.setAttribute('font-family', "'Source Sans 3', 'Segoe UI', Arial, sans-serif");
  const ground = document.createElementNS('http://www.w3.org/2000/svg', 'rect');
  ground.setAttribute('width', String(width));
  ground.setAttribute('height', String(height));
  ground.setAttribute('fill', getComputedStyle(document.documentElement).backgroundColor);
  copy.prepend(ground);
  return new XMLSerializer().serializeToString(copy);
}

/** Writes images into a drawing. A page that was opened from a folder may not read them: the drawing goes without, and says so. */
async function takeImages(copy: SVGSVGElement): Promise<void> {
  // In a page that is one file the image stands in another drawing.
  for (const use of copy.querySelectorAll('use')) {
    const shown = document.querySelector(use.getAttribute('href') ?? '');
    if (!shown) continue;
    use.replaceWith(shown.cloneNode());
  }
  for (const image of copy.querySelectorAll('image')) {
    const address = image.getAttribute('href') ?? '';
    if (address.startsWith('data:')) continue;
    try {
      image.setAttribute('href', await dataOf(new URL(address, document.baseURI)));
    } catch {
      image.remove();
      const note = document.createElementNS('http://www.w3.org/2000/svg', 'text');
      note.setAttribute('x', '46');
      note.setAttribute('y', String(svgHeight(copy) - 4));
      note.setAttribute('font-size', '10');
      note.setAttribute('fill', getComputedStyle(document.documentElement).color);
      note.textContent = t`Without the image under the map, which a page in a folder may not read.`;
      copy.append(note);
    }
  }
}

const svgHeight = (svg: SVGSVGElement): number => svg.viewBox.baseVal.height;

async function dataOf(address: URL): Promise<string> {
  // What a folder refuses is not asked for.
  if (address.protocol === 'file:') throw new Error('not from a folder');
  const answer = await fetch(address);
  if (!answer.ok) throw new Error(`${answer.status}`);
  const blob = await answer.blob();
  return new Promise((resolve, reject) => {
    const reader = new FileReader();
    reader.addEventListener('load', () => resolve(reader.result as string));
    reader.addEventListener('error', reject);
    reader.readAsDataURL(blob);
  });
}

async function pixelsOf(text: string, svg: SVGSVGElement): Promise<Blob> {
  const { width, height } = svg.viewBox.baseVal;
  const image = new Image();
  // The policy of the page lets images come from data, not from blobs.
  image.src = `data:image/svg+xml;charset=utf-8,${encodeURIComponent(text)}`;
  await image.decode();
  const canvas = document.createElement('canvas');
  [canvas.width, canvas.height] = [scale * width, scale * height];
  canvas.getContext('2d')!.drawImage(image, 0, 0, canvas.width, canvas.height);
  return new Promise((resolve, reject) =>
    canvas.toBlob((blob) => (blob ? resolve(blob) : reject(new Error('no picture'))), 'image/png'),
  );
}

function hand(blob: Blob, name: string): void {
  const link = document.createElement('a');
  link.href = URL.createObjectURL(blob);
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}
