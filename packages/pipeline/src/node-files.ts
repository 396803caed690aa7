import { createReadStream } from 'node:fs';
import {
  lstat,
  mkdir,
  open,
  readdir,
  readFile,
  readlink,
  realpath,
  rename,
  rm,
  stat,
  symlink,
} from 'node:fs/promises';
import { dirname, join, relative, resolve, sep } from 'node:path';
import type { Files } from './effects.ts';

/** The disk of this machine. */
export const nodeFiles: Files = {
  async read(path) {
    try {
      return await readFile(path);
    } catch (error) {
      if (isMissing(error)) return undefined;
      throw error;
    }
  },
  async *stream(path, range) {
    if (range && range.to <= range.from) return;
    const part = range ? { start: range.from, end: range.to - 1 } : {};
    try {
      for await (const chunk of createReadStream(path, { highWaterMark: 2 ** 20, ...part }))
        yield chunk as Uint8Array;
    } catch (error) {
      if (!isMissing(error)) throw error;
    }
  },
  size: async (path) => (await stat(path)).size,
  async stamp(path) {
    const { size, mtimeMs } = await stat(path);
    return `${size} ${mtimeMs}`;
  },
  async write(path, bytes) {
    await mkdir(dirname(path), { recursive: true });
    const partial = `${path}.partial`;
    try {
      const handle = await open(partial, 'w');
      try {
        await handle.writeFile(bytes);
        await handle.sync();
      } finally {
        await handle.close();
      }
      await rename(partial, path);
    } catch (error) {
      await rm(partial, { force: true });
      throw error;
    }
  },
  remove: (path) => rm(path, { recursive: true, force: true }),
  async kind(path) {
    try {
      const found = await stat(path);
      return found.isDirectory() ? 'folder' : found.isFile() ? 'file' : 'device';
    } catch (error) {
      if (!isMissing(error)) throw error;
      const link = await lstat(path).then(
        (found) => found.isSymbolicLink(),
        () => false,
      );
      return link ? 'dangling link' : 'nothing';
    }
  },
  resolve: (path) => realpath(path).catch(() => resolve(path)),
  isEmpty: async (folder) => (await readdir(folder)).length === 0,
  async list(folder) {
    const entries = await readdir(folder, { recursive: true, withFileTypes: true });
    return entries
      .filter((entry) => !entry.isDirectory())
      .map((entry) => relative(folder, join(entry.parentPath, entry.name)).split(sep).join('/'))
      .sort();
  },
  rename,
  makeFolder: async (path) => {
    await mkdir(path, { recursive: true });
  },
  async link(target, path) {
    try {
      await symlink(target, path, 'dir');
      return undefined;
    } catch (error) {
      const { code, message } = error as NodeJS.ErrnoException;
      if (noLinks.has(code ?? '')) return message;
      throw error;
    }
  },
  async readLink(path) {
    try {
      return await readlink(path);
    } catch (error) {
      const { code } = error as NodeJS.ErrnoException;
      // EINVAL: something else than a link.
      if (code === 'EINVAL' || isMissing(error)) return undefined;
      throw error;
    }
  },
};

/** What disks answer that know no symbolic links, and systems that allow none to this user. */
const noLinks = new Set(['EPERM', 'ENOSYS', 'ENOTSUP', 'EOPNOTSUPP', 'EINVAL']);

function isMissing(error: unknown): boolean {
  const { code } = error as NodeJS.ErrnoException;
  return code === 'ENOENT' || code === 'ENOTDIR' || code === 'EISDIR';
}
