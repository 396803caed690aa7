import { spawn } from 'node:child_process';
import { accessSync, constants } from 'node:fs';
import { chmod, mkdir, writeFile } from 'node:fs/promises';
import { createServer, type AddressInfo } from 'node:net';
import { join } from 'node:path';
import { setTimeout } from 'node:timers/promises';

/** The nginx of the machine, where there is one. */
export const nginx: string | undefined = [
  '/usr/sbin/nginx',
  '/usr/local/bin/nginx',
  '/opt/homebrew/bin/nginx',
].find((path) => {
  try {
    accessSync(path, constants.X_OK);
    return true;
  } catch {
    return false;
  }
});

export function freePort(): Promise<number> {
  return new Promise((resolve) => {
    const server = createServer().listen(0, '127.0.0.1', () => {
      const { port } = server.address() as AddressInfo;
      server.close(() => resolve(port));
    });
  });
}

/**
 * Runs nginx with what stands in its `http` section, in a working folder of its own, as a user without rights where the tests have all.
 *
 * @param http may name the port that is given
 */
export async function startNginx(
  work: string,
  http: (port: number) => string,
): Promise<{ url: string; close: () => Promise<void> }> {
  const port = await freePort();
  await mkdir(work);
  const conf = join(work, 'nginx.conf');
  const own = ['client_body', 'proxy', 'fastcgi', 'uwsgi', 'scgi'].map(
    (name) => `${name}_temp_path ${join(work, name)};`,
  );
  await writeFile(
    conf,
    `daemon off;
pid ${join(work, 'pid')};
error_log stderr;
events {}
http {
  include /etc/nginx/mime.types;
  access_log off;
  ${own.join('\n  ')}
${http(port)}
}
`,
  );
  await chmod(work, 0o777);
  const asNobody = process.getuid?.() === 0 ? { uid: 65_534, gid: 65_534 } : {};
  const start = (args: readonly string[]) =>
    spawn(nginx!, ['-p', work, '-e', 'stderr', '-c', conf, ...args], {
      stdio: ['ignore', 'ignore', 'pipe'],
      ...asNobody,
    });
  const said = { text: '' };
  const tested = start(['-t']);
  tested.stderr.setEncoding('utf8').on('data', (text: string) => (said.text += text));
  const code = await new Promise((resolve) => tested.on('close', resolve));
  if (code !== 0) throw new Error(`nginx -t ended with ${String(code)}:\n${said.text}`);
  const child = start([]);
  child.stderr.setEncoding('utf8').on('data', (text: string) => (said.text += text));
  const ended = new Promise<void>((resolve) => child.on('close', () => resolve()));
  const url = `http://127.0.0.1:${port}/`;
  for (let attempt = 0; ; attempt++) {
    if (await fetch(url).catch(() => undefined)) break;
    if (attempt === 50 || child.exitCode !== null) throw new Error(`nginx does not answer:\n${said.text}`);
    await setTimeout(100);
  }
  return {
    url,
    close: async () => {
      child.kill('SIGQUIT');
      await ended;
    },
  };
}
