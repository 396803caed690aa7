import { createServer, type IncomingMessage, type Server, type ServerResponse } from 'node:http';
import type { AddressInfo } from 'node:net';
import { afterEach, beforeEach, expect, test, vi } from 'vitest';
import { openObjectStorage, parseAddress, type ObjectStorage } from './object-storage.ts';

// Answers in the form of the protocol's own reference (Amazon S3 API Reference, ListObjectsV2, GetObject, PutObject). Whole commands against a server
// that others wrote are in tests/command/remote-store.test.ts; that one cannot give a listing in parts.
let server: Server;
let storage: ObjectStorage;
let asked: IncomingMessage[];
let answer: (request: IncomingMessage, response: ServerResponse) => void;
beforeEach(async () => {
  asked = [];
  server = createServer((request, response) => {
    asked.push(request);
    answer(request, response);
  });
  await new Promise<void>((done) => server.listen(0, '127.0.0.1', done));
  vi.stubEnv('AWS_ENDPOINT_URL_S3', `http://127.0.0.1:${(server.address() as AddressInfo).port}`);
  vi.stubEnv('AWS_ACCESS_KEY_ID', 'invented');
  vi.stubEnv('AWS_SECRET_ACCESS_KEY', 'invented');
  vi.stubEnv('AWS_MAX_ATTEMPTS', '1');
  storage = await openObjectStorage('s3://works/dam');
});
afterEach(async () => {
  vi.unstubAllEnvs();
  server.closeAllConnections();
  await new Promise((done) => server.close(done));
});

const allOf = async (bytes: AsyncIterable<Uint8Array>): Promise<string> => {
  const pieces: Uint8Array[] = [];
  for await (const piece of bytes) pieces.push(piece);
  return Buffer.concat(pieces).toString();
};

const listing = (contents: readonly string[], next?: string): string =>
  `<?xml version="1.0" encoding="UTF-8"?><ListBucketResult xmlns="http://s3.amazonaws.com/doc/2006-03-01/"><Name>works</Name><Prefix>dam/</Prefix>` +
  `<IsTruncated>${next !== undefined}</IsTruncated>${next === undefined ? '' : `<NextContinuationToken>${next}</NextContinuationToken>`}` +
  contents.map((key, i) => `<Contents><Key>${key}</Key><ETag>&quot;e${i}&quot;</ETag></Contents>`).join('') +
  '</ListBucketResult>';

test('a listing in parts is asked for to its end', async () => {
  const parts = new Map([
    [null, listing(['dam/a', 'dam/b'], 'one/+ more')],
    ['one/+ more', listing(['dam/c'], 'two')],
    ['two', listing(['dam/d/e'])],
  ]);
  answer = ({ url }, response) =>
    response.end(parts.get(new URL(url!, 'http://x').searchParams.get('continuation-token')));
  expect(await storage.list()).toEqual([
    { path: 'a', etag: 'e0' },
    { path: 'b', etag: 'e1' },
    { path: 'c', etag: 'e0' },
    { path: 'd/e', etag: 'e0' },
  ]);
  expect(new URL(asked[0]!.url!, 'http://x').searchParams.get('prefix')).toBe('dam/');
  expect(asked).toHaveLength(3);
});

test('an object that is another one by now is not read', async () => {
  const answers: readonly ((response: ServerResponse) => unknown)[] = [
    (response) => response.writeHead(200, { etag: '"e1"' }).end('bytes'),
    // Storage that takes no heed of the condition.
    (response) => response.writeHead(200, { etag: '"e2"' }).end('others'),
    (response) =>
      response.writeHead(412).end('<?xml version="1.0"?><Error><Code>PreconditionFailed</Code></Error>'),
    (response) => response.writeHead(404).end('<?xml version="1.0"?><Error><Code>NoSuchKey</Code></Error>'),
  ];
  const read: (string | undefined)[] = [];
  for (const one of answers) {
    answer = (_, response) => one(response);
    const bytes = await storage.read({ path: 'a', etag: 'e1' });
    read.push(bytes && (await allOf(bytes)));
  }
  expect(read).toEqual(['bytes', undefined, undefined, undefined]);
  expect(asked.map(({ headers }) => headers['if-match'])).toEqual(Array(4).fill('"e1"'));
});

test('a line that breaks within an object is told, and where', async () => {
  answer = (_, response) => {
    response.writeHead(200, { etag: '"e1"', 'content-length': '100' });
    response.write('some');
    setTimeout(() => response.destroy(), 50);
  };
  const bytes = (await storage.read({ path: 'a', etag: 'e1' }))!;
  await expect(allOf(bytes)).rejects.toMatchObject({
    problems: [{ code: 'STORE_REMOTE', at: { file: 's3://works/dam' } }],
  });
});

test('writing is bound to what is known to stand there', async () => {
  answer = (_, response) => response.writeHead(200, { etag: '"e9"' }).end();
  expect(await storage.write('a', Buffer.from('x'), undefined)).toBe('e9');
  expect(await storage.write('a', Buffer.from('x'), 'e9')).toBe('e9');
  answer = (_, response) =>
    response
      .writeHead(409)
      .end('<?xml version="1.0"?><Error><Code>ConditionalRequestConflict</Code></Error>');
  expect(await storage.write('a', Buffer.from('x'), 'e9')).toBe(undefined);
  expect(asked.map(({ headers }) => [headers['if-match'], headers['if-none-match']])).toEqual([
    [undefined, '*'],
    ['"e9"', undefined],
    ['"e9"', undefined],
  ]);
});

test.each([
  ['s3://works', 's3://works', ''],
  ['s3://works/', 's3://works', ''],
  ['s3://works/dam/store/', 's3://works/dam/store', 'dam/store/'],
  ['s3://works.example/a-b_c.d', 's3://works.example/a-b_c.d', 'a-b_c.d/'],
])('%s is an address', (text, address, prefix) => {
  expect(parseAddress(text)).toMatchObject({ address, prefix });
});

test.each(['s3://', 's3://ab', 's3://-works', 's3://Works', 's3://works//a', 's3://works/../a', 's3://works/./a', 's3://works/a b', 's3://works/a?x', 'S3://works', 'http://works'])(
  '%s is none',
  (text) => expect(parseAddress(text)).toBe(undefined),
); // prettier-ignore
