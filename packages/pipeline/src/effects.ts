import type {
  PortfolioRecord,
  PublishedVersions,
  ReleasedView,
  SiteMessage,
  SiteView,
} from '@stillmark/records';
import type { Words } from '@stillmark/words';
import type { Threads } from './threads.ts';

/** Draws a site. The pipeline knows no more of it: the command hands it the dashboard's. */
export interface Renderer {
  /** Paths of all pages of a snapshot's site. */
  pages(view: SiteView): string[];
  renderPage(path: string, view: SiteView): Promise<string>;
  /** The page over several projects. */
  renderPortfolio(record: PortfolioRecord, words?: Words): Promise<string>;
  /** The one page of the released site. */
  renderReleased(view: ReleasedView): Promise<string>;
  /** The overview with style, script and fonts in it; links lead to an address, or nowhere. */
  renderSingle(
    view: SiteView,
    assets: ReadonlyMap<string, Uint8Array>,
    address: string | undefined,
  ): Promise<string>;
  /** The page of everything that is published in one place; it stands beside the folders of the versions. */
  renderVersions(published: PublishedVersions, words?: Words): Promise<string>;
  /** Everything that a site says, in English. */
  readonly messages: readonly SiteMessage[];
  /** Style, script and fonts, by path. */
  assets(): Promise<ReadonlyMap<string, Uint8Array>>;
}

/** From a byte to before another. */
export interface ByteRange {
  readonly from: number;
  readonly to: number;
}

/** Assets of a page without timelines and map over time, whose scripts are left out. */
export async function plainAssets(renderer: Renderer): Promise<[path: string, bytes: Uint8Array][]> {
  return [...(await renderer.assets())].filter(([path]) => !/-(zoom|map)\.js$/.test(path));
}

/** The disk, as far as the pipeline writes it. Paths are absolute. */
export interface Files {
  /** Undefined where there is no such file. */
  readonly read: (path: string) => Promise<Uint8Array | undefined>;
  /** The bytes of a file in pieces, or those from a place to before another; none where there is no such file. */
  readonly stream: (path: string, range?: ByteRange) => AsyncIterable<Uint8Array>;
  /** Bytes of a file. */
  readonly size: (path: string) => Promise<number>;
  /** Size and time of change of a file: another one says that it has changed. */
  readonly stamp: (path: string) => Promise<string>;
  /** Writes whole or not at all, also where the pieces end in an error: beside its place first, then by one rename. */
  readonly write: (path: string, bytes: Uint8Array | string | AsyncIterable<Uint8Array>) => Promise<void>;
  readonly remove: (path: string) => Promise<void>;
  /** What stands at a path. */
  readonly kind: (path: string) => Promise<'file' | 'folder' | 'device' | 'dangling link' | 'nothing'>;
  readonly isEmpty: (folder: string) => Promise<boolean>;
  /** The absolute path, with links followed where something stands there. */
  readonly resolve: (path: string) => Promise<string>;
  /** Files below a folder, as sorted relative paths with forward slashes; folders that are links are not entered. */
  readonly list: (folder: string) => Promise<string[]>;
  readonly rename: (from: string, to: string) => Promise<void>;
  /** Makes a folder, and those that hold it; nothing where it stands. */
  readonly makeFolder: (path: string) => Promise<void>;
  /** Makes a symbolic link to a folder. Undefined of one that is made, else why the disk holds none. */
  readonly link: (target: string, path: string) => Promise<string | undefined>;
  /** What a symbolic link says, as it stands in it; undefined where there is none at the path. */
  readonly readLink: (path: string) => Promise<string | undefined>;
}

/** How a command of the user's ended: with a code, or without one, and why. */
export type CommandEnd = { readonly code: number } | { readonly stopped: string };

/** What a command may do to the world. */
export interface Effects {
  readonly files: Files;
  readonly progress: (message: string) => void;
  /** The clock, for refusing what lies in the future; never for what is stated. */
  readonly nowMs: () => number;
  /** Where it is said, what was computed from the same inputs by the same code before is not computed again. */
  readonly memory?: { readonly code: string };
  /** Threads for what is computed station by station; without them everything is computed in this one. */
  readonly threads?: Threads;
}

/** Name and version written into snapshots. */
export interface Producer {
  readonly name: string;
  readonly version: string;
}
