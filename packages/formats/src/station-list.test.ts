import { describe, expect, test } from 'vitest';
import { readStationList } from './index.ts';

const read = (...lines: string[]) =>
  readStationList(new TextEncoder().encode(`${lines.join('\n')}\n`), 'stations.csv');

describe('a list of stations', () => {
  test('columns in any order, others passed over', () => {
    const { rows, rejected } = read(
      'on,role,id,height,longitude,latitude,who',
      ' rock ,Base,B1,-3.5,-3.17,55.28,me',
    );
    expect(rejected).toEqual([]);
    expect(rows).toEqual([
      { id: 'B1', role: 'base', on: 'rock', latitude: 55.28, longitude: -3.17, height: -3.5 },
    ]);
  });
  test.each([
    ['B 1,base,rock,47,11,1', "'B 1' is no id of a station"],
    ['B1,rover,rock,47,11,1', "'rover' is no role of a station"],
    ['B1,base, ,47,11,1', 'B1 stands on nothing'],
    ['B1,base,rock,91,11,1', "'91' is no latitude"],
    ['B1,base,rock,47,11°,1', "'11°' is no longitude"],
    ['B1,base,rock,47,11,', "'' is no height"],
  ])('%s', (row, message) => {
    const { rows, rejected } = read('id,role,on,latitude,longitude,height', row);
    expect(rows).toEqual([]);
    expect(rejected[0]!.problem).toMatchObject({ message, at: { file: 'stations.csv', line: 2 } });
  });
});
