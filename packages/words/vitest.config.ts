import { roomTests } from '@stillmark/tooling/vitest';

export default roomTests('words');
