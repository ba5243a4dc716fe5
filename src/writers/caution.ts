/** Stands wherever a verdict is printed. */
export const caution =
  'Within limits is not approval: a designer or the lead signs off. Nothing here speaks of ' +
  'strength, safety, moulding or airworthiness; local codes and licensed practice decide those.';
