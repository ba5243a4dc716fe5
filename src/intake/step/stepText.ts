/**
 * What a string of the exchange file says. Source: ISO 10303-21:2016, 6.4.3: '' stands for ',
 * \\ for \; \X\hh one character of ISO 8859-1; \X2\hhhh...\X0\ UTF-16 units, \X4\hhhhhhhh...\X0\
 * code points; \S\c the character 128 above c in the page set by \PA\ to \PI\ (ISO 8859-1 to -9).
 * Raw bytes over 127 are UTF-8 (edition 3) or else ISO 8859-1 (files of older writers). Breaks of the
 * physical line are no part of the string, nor are the print directives \N\ and \F\.
 */
export function stepText(raw: Uint8Array): string {
  let page = 1;
  return rawText(raw)
    .replace(/[\r\n]/g, '')
    .replaceAll("''", "'")
    .replace(
      /\\(?:X2\\((?:[0-9A-F]{4})*)\\X0\\|X4\\((?:[0-9A-F]{8})*)\\X0\\|X\\([0-9A-F]{2})|S\\([ -~])|P([A-I])\\|[NF]\\|\\)/gi,
      (whole, units?: string, points?: string, byte?: string, shifted?: string, set?: string) => {
        if (units !== undefined) return hexCharacters(units, 4);
        if (points !== undefined) return hexCharacters(points, 8);
        if (byte !== undefined) return String.fromCharCode(Number.parseInt(byte, 16));
        if (shifted !== undefined) return pageCharacter(page, shifted.charCodeAt(0) + 128);
        if (set !== undefined) page = set.toUpperCase().charCodeAt(0) - 64;
        return whole === '\\\\' ? '\\' : '';
      },
    )
    .replace(/\p{Surrogate}/gu, '\ufffd')
    .replace(/\p{Control}/gu, ' ');
}

function rawText(raw: Uint8Array): string {
  try {
    return new TextDecoder('utf-8', { fatal: true, ignoreBOM: true }).decode(raw);
  } catch {
    return Buffer.from(raw.buffer, raw.byteOffset, raw.byteLength).toString('latin1');
  }
}

const hexCharacters = (digits: string, width: 4 | 8): string =>
  (digits.match(new RegExp(`.{${width}}`, 'g')) ?? [])
    .map((hex) => Number.parseInt(hex, 16))
    .map((value) =>
      width === 4
        ? String.fromCharCode(value)
        : value <= 0x10ffff
          ? String.fromCodePoint(value)
          : '\ufffd',
    )
    .join('');

const pageCharacter = (page: number, code: number): string =>
  page === 1
    ? String.fromCharCode(code)
    : new TextDecoder(`iso-8859-${page}`).decode(Uint8Array.of(code));
