import { createApp } from 'astro/app/entrypoint';

const app = createApp({ streaming: false });

export async function renderPage(path: string, view: unknown): Promise<string> {
  const response = await app.render(new Request(`http://site.invalid/${path}`), { locals: { view } as never });
  const text = await response.text();
  if (response.status !== 200) throw new Error(`the renderer answered ${response.status} for ${path}: ${text.slice(0, 300)}`);
  return text;
}
