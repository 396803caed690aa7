import type { AstroIntegration } from 'astro';

/** Makes `astro build` emit a renderer that is called in-process, in place of a web server. */
export function rendererAdapter(): AstroIntegration {
  return {
    name: '@stillmark/renderer',
    hooks: {
      'astro:config:done': ({ setAdapter }) => {
        setAdapter({
          name: '@stillmark/renderer',
          entrypointResolution: 'auto',
          serverEntrypoint: new URL('./entry.ts', import.meta.url),
          supportedAstroFeatures: {
            staticOutput: 'stable',
            serverOutput: 'stable',
            sharpImageService: 'unsupported',
          },
        });
      },
    },
  };
}
