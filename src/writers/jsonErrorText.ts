const sentences: Readonly<Record<string, string>> = {
  InvalidSymbol: 'this word is no value (numbers, strings, null; no NaN, no Infinity)',
  InvalidNumberFormat: 'this is no number as JSON writes it',
  PropertyNameExpected: 'a key in quotes is missing',
  ValueExpected: 'a value is missing',
  ColonExpected: 'a colon is missing',
  CommaExpected: 'a comma is missing',
  CloseBraceExpected: 'a closing } is missing',
  CloseBracketExpected: 'a closing ] is missing',
  EndOfFileExpected: 'something follows the end',
  InvalidCommentToken: 'comments have no place in it',
  UnexpectedEndOfString: 'a string is not closed',
  InvalidCharacter: 'a control character stands in a string',
  InvalidEscapeCharacter: 'an escape in a string is not one of JSON',
  InvalidUnicode: 'an escape in a string is not one of JSON',
};

/** What is wrong with a text that should be JSON, from the parser's name for it. */
export const jsonErrorText = (what: string | undefined): string =>
  sentences[what ?? ''] ?? 'it cannot be read here';
