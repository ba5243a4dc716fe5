import type { OtherContent } from '../otherContents.ts';
import { ObjText } from './objText.ts';

/** Statements that tell of things which are no surface and trim none. */
const labels: Readonly<Record<string, string>> = {
  f: 'polygon',
  l: 'line',
  p: 'point',
  curv: 'curve in space',
  scrv: 'curve on a surface',
  sp: 'special point',
  con: 'connection of surfaces',
};

/** What a file holds besides surfaces, by statement. */
export function objOtherContents(bytes: Uint8Array): OtherContent[] {
  const text = new ObjText(bytes);
  const counts = new Map<string, number>();
  while (text.nextStatement()) {
    const word = text.word();
    if (Object.hasOwn(labels, word)) counts.set(word, (counts.get(word) ?? 0) + 1);
    text.skipStatement();
  }
  return Object.keys(labels).flatMap((word) => {
    const count = counts.get(word);
    return count === undefined ? [] : [{ kind: `OBJ ${word}`, label: labels[word], count }];
  });
}
