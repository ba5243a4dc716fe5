import type { Reason } from '../rules/rule.ts';

const sentences: Readonly<Record<Reason, string>> = {
  'too-few-points': 'there are too few points to tell a run from an accident.',
  'too-small': 'the net is under 4 by 4 points, too small to tell which point is off.',
  'too-large': 'the net has too many points for this measure; split the panel.',
  'inner-break': 'two control points stand for the same parameter, so the run breaks there.',
  'no-extent': 'the points lie together, so there is nothing to compare with.',
  'no-normal': 'the surface has no normal at a place where one is needed.',
  polynomial: 'the surface has no weights.',
  'smooth-knots': 'no knot inside the panel lets it break.',
  'single-span': 'the panel has a single span each way.',
  'nothing-kept': 'trim and spec keep none of the places that were looked at.',
  'no-side':
    'whether the radius leaves room for the thickness hangs on which side is outside: say so in the spec.',
  'no-section': 'no section could be cut: too little of the surface is kept, or it has no normal.',
  'no-view':
    'no light from one side shows it: too little of the surface is kept, or it turns right round.',
  'no-neighbour': 'no other panel of the audit runs along its edges.',
  'trim-unread': 'its trim could not be read, so nobody knows where it ends.',
  'feature-line': 'the panels meet at an edge that is meant as one: only its gap is judged.',
  'angle-first':
    'the panels meet at an angle: curvatures across it say nothing until that is mended.',
  'curvature-first': 'the curvature breaks there: mend that before its rate is looked at.',
  'no-centre': 'the spec names no plane of symmetry.',
  'off-centre': 'no border of the panel lies in the plane of symmetry.',
  'no-scan': 'no scan is named: give one with --scan, or in the spec.',
  'scan-unread': 'the scan could not be read.',
  'scan-misaligned': 'the scan lies elsewhere than the panel, or in another unit or other axes.',
  'scan-cloud': 'the scan is points alone, which do not show fillets and feature lines.',
  'scan-open': 'too little of the panel has the scan behind it.',
  'same-net': 'the net is that of another panel, trimmed otherwise, and is judged there.',
};

/** Why a rule did not decide or does not apply, as a sentence. */
export const reasonSentence = (reason: Reason): string => sentences[reason];
