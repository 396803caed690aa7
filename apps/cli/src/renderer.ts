import { readdir, readFile } from 'node:fs/promises';
import type { Renderer } from '@stillmark/pipeline';

/** The dashboard as it was built beside this command: the renderer's code, and the assets of the site. */
export async function builtRenderer(): Promise<Renderer> {
  const folder = new URL('./renderer/', import.meta.url);
  const entry = (await import(new URL('server/entry.mjs', folder).href)) as Pick<
    Renderer,
    | 'messages'
    | 'pages'
    | 'renderPage'
    | 'renderPortfolio'
    | 'renderReleased'
    | 'renderSingle'
    | 'renderVersions'
  >;
  return {
    messages: entry.messages,
    pages: entry.pages,
    renderPage: entry.renderPage,
    renderPortfolio: entry.renderPortfolio,
    renderReleased: entry.renderReleased,
    renderSingle: entry.renderSingle,
    renderVersions: entry.renderVersions,
    async assets() {
      const assets = new URL('assets/', folder);
      const files = new Map<string, Uint8Array>();
      for (const name of (await readdir(assets)).sort())
        files.set(`assets/${name}`, await readFile(new URL(name, assets)));
      return files;
    },
  };
}
