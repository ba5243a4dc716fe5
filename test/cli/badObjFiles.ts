import type { BadFile } from './badFiles.ts';

/** A plate of one patch; `replaced` stands in it instead of `text`. */
function badPlate(code: BadFile['code'], given: string, text: string, replaced: string): BadFile {
  const plate = [
    'v 0 0 0\nv 100 0 0\nv 0 100 0\nv 100 100 0',
    'cstype bezier\ndeg 1 1',
    'surf 0 1 0 1 1 2 3 4',
    'parm u 0 1\nparm v 0 1\nend\n',
  ].join('\n');
  return { given, name: 'plate.obj', bytes: Buffer.from(plate.replace(text, replaced)), code };
}

/** Free-form surfaces in OBJ with one thing wrong each. */
export const badObj: readonly BadFile[] = [
  badPlate('obj-index', 'a vertex that is none of the file', '1 2 3 4', '1 2 3 5'),
  badPlate('obj-attribute', 'a surface without its type', 'cstype bezier\n', ''),
  badPlate('obj-attribute', 'a surface without its breakpoints in v', 'parm v 0 1\n', ''),
  badPlate('obj-unended', 'a surface that does not end', 'end\n', ''),
  badPlate('wrong-count', 'a point too few', '1 2 3 4', '1 2 3'),
  badPlate('bad-number', 'a word for a coordinate', 'v 100 100 0', 'v 100 x 0'),
  badPlate('degree-range', 'a degree that no memory could hold', 'deg 1 1', 'deg 1e9 1'),
];
