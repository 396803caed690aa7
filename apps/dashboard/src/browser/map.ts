import './main.ts';
import { escape, movedBar, movementSigns, type MapMovement } from '@stillmark/charts/map-signs';
import { ZoneClock } from '@stillmark/wording';
import { t } from '@stillmark/words';
import type { Walk, WalkedStation } from '../model/walk.ts';

/** A movement between two means, or from the reference position; undefined where a mean or its interval is missing. */
function movementAt(
  { ellipseOverInterval: factor }: Walk,
  s: WalkedStation,
  frame: number,
  from: number | undefined,
): MapMovement | undefined {
  const value = (column: 'east' | 'north' | 'up'): number =>
    (s[column][frame] ?? Number.NaN) - (from === undefined ? 0 : (s[column][from] ?? Number.NaN));
  const half = (column: 'eastHalf' | 'northHalf' | 'upHalf'): number =>
    Math.hypot(s[column][frame] ?? Number.NaN, from === undefined ? 0 : (s[column][from] ?? Number.NaN));
  const [east, north, up] = [value('east'), value('north'), value('up')];
  const [eastHalf, northHalf, upHalf] = [half('eastHalf'), half('northHalf'), half('upHalf')];
  if ([east, north, up, eastHalf, northHalf, upHalf].some(Number.isNaN)) return undefined;
  return {
    east_mm: east,
    north_mm: north,
    up_mm: up,
    upHalf_mm: upHalf,
    ellipse:
      northHalf >= eastHalf
        ? { semiMajor_mm: factor * northHalf, semiMinor_mm: factor * eastHalf, azimuthDeg: 0 }
        : { semiMajor_mm: factor * eastHalf, semiMinor_mm: factor * northHalf, azimuthDeg: 90 },
    // Single means are not tested: nothing of them is drawn as moved.
    distinguishable: false,
    upDistinguishable: false,
  };
}

/** Slider, play, reference and size of vectors of the map. */
class MapControl {
  readonly #walk: Walk;
  readonly #clock: ZoneClock;
  readonly #maps: {
    svg: SVGSVGElement;
    movements: Element;
    scale: Element;
    /** What the page came with, once something else is drawn. */
    original?: [string, string];
  }[];
  readonly #time: HTMLInputElement;
  readonly #from: HTMLSelectElement;
  readonly #factor: HTMLSelectElement;
  readonly #play: HTMLButtonElement;
  readonly #present: HTMLButtonElement;
  readonly #note: HTMLElement;
  #timer: ReturnType<typeof setInterval> | undefined;
  #isPresent = true;

  constructor(container: HTMLElement, walk: Walk) {
    this.#walk = walk;
    this.#clock = new ZoneClock(walk.timeZone);
    this.#maps = Array.from(container.querySelectorAll<SVGSVGElement>('svg.chart'), (svg) => {
      const [movements, scale] = [svg.querySelector('.movements')!, svg.querySelector('.moved-scale')!];
      return { svg, movements, scale };
    });
    this.#time = container.querySelector('[data-time]')!;
    this.#from = container.querySelector('[data-reference]')!;
    this.#factor = container.querySelector('[data-factor]')!;
    this.#play = container.querySelector('[data-play]')!;
    this.#present = container.querySelector('[data-present]')!;
    this.#note = container.querySelector('.zoom-note')!;
    this.#time.max = String(walk.timesMs.length - 1);
    this.#time.value = this.#time.max;
    const { previous } = walk;
    if (previous !== undefined)
      this.#from.add(
        new Option(
          t`the previous snapshot, ${this.#clock.dateTime(walk.timesMs[previous]!)}`,
          String(previous),
        ),
      );
    walk.timesMs
      .slice(0, -1)
      .forEach((ms, i) => this.#from.add(new Option(this.#clock.dateTime(ms), String(i))));
    this.#time.addEventListener('input', () => this.#moved());
    this.#from.addEventListener('change', () => this.#moved());
    this.#factor.addEventListener('change', () => this.draw());
    this.#present.addEventListener('click', () => this.#reset());
    this.#play.addEventListener('click', () => (this.#timer === undefined ? this.#start() : this.#stop()));
  }

  #moved(): void {
    this.#isPresent = false;
    this.draw();
  }

  #reset(): void {
    this.#stop();
    this.#isPresent = true;
    [this.#time.value, this.#from.value, this.#factor.value] = [this.#time.max, '', '1'];
    this.draw();
  }

  #start(): void {
    if (this.#time.value === this.#time.max) this.#time.value = '0';
    this.#play.textContent = t`stop`;
    this.#timer = setInterval(() => {
      if (this.#time.value === this.#time.max) return this.#stop();
      this.#time.value = String(Number(this.#time.value) + 1);
      this.#moved();
    }, 350);
    this.#moved();
  }

  #stop(): void {
    clearInterval(this.#timer);
    this.#timer = undefined;
    this.#play.textContent = t`play`;
  }

  draw(): void {
    const frame = Number(this.#time.value);
    const from = this.#from.value === '' ? undefined : Number(this.#from.value);
    const factor = Number(this.#factor.value);
    const { timesMs, stations } = this.#walk;
    const date = this.#clock.dateTime(timesMs[frame]!);
    this.#time.setAttribute('aria-valuetext', date);
    this.#present.disabled = this.#isPresent && factor === 1;
    const words = this.#isPresent
      ? t`the present, as stated`
      : from === undefined
        ? t`single means of ${date}`
        : t`single means of ${date}, from those of ${this.#clock.dateTime(timesMs[from]!)}`;
    this.#note.textContent = words;
    for (const map of this.#maps) {
      const { svg, movements, scale } = map;
      // Marks of what is stated at present say nothing of another time; a picture of that carries its date.
      svg.classList.toggle('at-another-time', !this.#isPresent);
      if (this.#isPresent) delete svg.dataset['pictureOf'];
      else svg.dataset['pictureOf'] = `${new Date(timesMs[frame]!).toISOString().slice(0, 13)}h`;
      if (this.#isPresent && factor === 1) {
        if (map.original) [movements.innerHTML, scale.innerHTML] = map.original;
        continue;
      }
      map.original ??= [movements.innerHTML, scale.innerHTML];
      const pxPerMm = factor * Number(svg.dataset['pxPerMm']);
      const up = svg.querySelector('.key .vertical') !== null;
      const signs = Array.from(svg.querySelectorAll<SVGGElement>('.mark[data-id]'), ({ dataset }) => {
        const id = dataset['id']!;
        const station = stations.find((s) => s.id === id);
        const displacement = this.#isPresent
          ? this.#walk.present[id]
          : station && movementAt(this.#walk, station, frame, from);
        return displacement
          ? movementSigns(
              { station: { displacement }, x: Number(dataset['x']), y: Number(dataset['y']) },
              pxPerMm,
              up,
            )
          : '';
      });
      const told = this.#isPresent ? '' : `<text class="remark" x="56" y="40">${escape(words)}</text>`;
      movements.innerHTML = signs.join('') + told;
      const place = scale as SVGGElement;
      const number = (name: string): number => Number(place.dataset[name]);
      scale.innerHTML = movedBar(
        { x: number('x'), y: number('y'), wanted: number('wanted') },
        pxPerMm,
        Number(svg.dataset['pxPerMetre']),
      );
    }
  }
}

for (const container of document.querySelectorAll<HTMLElement>('[data-walk]'))
  new MapControl(container, JSON.parse(container.dataset['walk']!) as Walk).draw();
