import { length, type Vector } from '../geometry/vector.ts';
import { lengthUnits } from '../intake/lengthUnit.ts';
import type { Misalignment } from '../rules/subject.ts';
import type { JudgedFile } from '../verdict/judgedFile.ts';
import { printable, shownNumber } from './shown.ts';

/** Factors within this share of a unit's are that unit's. */
const oneUnit = 1e-6;

/** "times 25.4, as if it were in in". */
function factorText(factor: number): string {
  const unit = Object.values(lengthUnits).find(
    ({ millimetres }) => Math.abs(millimetres / factor - 1) < oneUnit,
  );
  const times = `times ${Number(factor.toPrecision(6))}`;
  return unit ? `${times} (as if its unit were ${unit.name})` : times;
}

/** A shift to a hundredth of its size or a tenth, whichever is a power of ten: what lies between is the fit's. */
function roundShift(shift: Vector): number[] {
  const step = 10 ** (Math.floor(Math.log10(length(shift))) - 1);
  return shift.map((x) => Math.round(x / step) * step + 0);
}

/** What brings panels and scan together, as far as anything does. */
function cureText(alignment: Misalignment): string {
  const { nearest, middle } = alignment;
  const off = `it lies ${shownNumber(nearest, 'mm')} mm away at the least, ${shownNumber(middle, 'mm')} mm in the middle`;
  switch (alignment.kind) {
    case 'misread': {
      const { factor, axes } = alignment.reading;
      const isTurned = axes.join() !== 'x,y,z';
      const parts = [
        ...(factor === 1 ? [] : [`its lengths are taken ${factorText(factor)}`]),
        ...(isTurned ? [`its axes ${axes.join(', ')} are taken as x, y, z`] : []),
      ];
      return `${off}, and fits where ${parts.join(' and ')}`;
    }
    case 'shifted':
      return `${off}, and fits where it is moved by about (${roundShift(alignment.shift).join(', ')}) mm`;
    case 'far':
      return `${off}, and no other unit, axes or shift bring them together`;
  }
}

/** As many panels as are named in one line. */
const mostNamed = 8;

/** Panels of one key are told together, by the first of them. */
function keyOf(alignment: Misalignment): string {
  switch (alignment.kind) {
    case 'misread':
      return JSON.stringify(alignment.reading);
    case 'shifted':
      return roundShift(alignment.shift).join();
    case 'far':
      return alignment.kind;
  }
}

/** What is to be known of scans that lie elsewhere than their panels: one text for all that lie alike. */
export function alignmentTexts(files: readonly JudgedFile[]): string[] {
  const groups = new Map<string, { readonly text: string; readonly names: string[] }>();
  for (const { panels } of files)
    for (const { name, misaligned } of panels) {
      if (!misaligned) continue;
      const key = keyOf(misaligned);
      const group = groups.get(key) ?? { text: cureText(misaligned), names: [] };
      group.names.push(printable(name));
      groups.set(key, group);
    }
  return [...groups.values()].map(({ text, names }) => {
    const more = names.length - mostNamed;
    const named = `${names.slice(0, mostNamed).join(', ')}${more > 0 ? ` and ${more} more` : ''}`;
    return `The scan does not lie on ${named} as it is read: ${text}. Nothing was judged by it there; convert it, or name the right one.`;
  });
}
