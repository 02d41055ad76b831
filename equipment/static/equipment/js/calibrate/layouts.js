// What a key gives on a keyboard, for the keyboards that farms have: 46 keys, the four rows from left to right, first as
// they are, then with Shift. ◌ is a key that waits for the next one. By xkeyboard-config, through libxkbcommon; dead
// keys as there.

const KEYS = {
  us: ['1234567890-=qwertyuiop[]\\asdfghjkl;\'zxcvbnm,./', '!@#$%^&*()_+QWERTYUIOP{}|ASDFGHJKL:"ZXCVBNM<>?'],
  de: ['1234567890ß◌qwertzuiopü+#asdfghjklöäyxcvbnm,.-', '!"§$%&/()=?◌QWERTZUIOPÜ*\'ASDFGHJKLÖÄYXCVBNM;:_'],
  fr: ['&é"\'(-è_çà)=azertyuiop◌$*qsdfghjklmùwxcvbn,;:!', '1234567890°+AZERTYUIOP◌£µQSDFGHJKLM%WXCVBN?./§'],
  be: ['&é"\'(§è!çà)-azertyuiop◌$µqsdfghjklmùwxcvbn,;:=', '1234567890°_AZERTYUIOP◌£*QSDFGHJKLM%WXCVBN?./+'],
  es: ['1234567890\'¡qwertyuiop◌+çasdfghjklñ◌zxcvbnm,.-', '!"·$%&/()=?¿QWERTYUIOP◌*ÇASDFGHJKLÑ◌ZXCVBNM;:_'],
  pt: ['1234567890\'«qwertyuiop+◌◌asdfghjklçºzxcvbnm,.-', '!"#$%&/()=?»QWERTYUIOP*◌◌ASDFGHJKLÇªZXCVBNM;:_'],
  br: ['1234567890-=qwertyuiop◌[]asdfghjklç◌zxcvbnm,.;', '!@#$%◌&*()_+QWERTYUIOP◌{}ASDFGHJKLÇ◌ZXCVBNM<>:'],
  it: ['1234567890\'ìqwertyuiopè+ùasdfghjklòàzxcvbnm,.-', '!"£$%&/()=?^QWERTYUIOPé*§ASDFGHJKLç°ZXCVBNM;:_'],
  cz: ['+ěščřžýáíé=◌qwertzuiopú)◌asdfghjklů§yxcvbnm,.-', '1234567890%◌QWERTZUIOP/(\'ASDFGHJKL"!YXCVBNM?:_'],
  ch: ['1234567890\'◌qwertzuiopü◌$asdfghjklöäyxcvbnm,.-', '+"*ç%&/()=?◌QWERTZUIOPè!£ASDFGHJKLéàYXCVBNM;:_'],
  dvorak: ['1234567890[]\',.pyfgcrl/=\\aoeuidhtns-;qjkxbmwvz', '!@#$%^&*(){}"<>PYFGCRL?+|AOEUIDHTNS_:QJKXBMWVZ'],
};

const US = 'us';
const others = Object.keys(KEYS).filter((name) => name !== US);

// Pairs of keyboards, the likeliest first: a scanner comes from its maker as for `us`.
export const PAIRS = [
  [US, US],
  ...others.map((name) => [US, name]),
  ...others.map((name) => [name, US]),
  ...others.flatMap((one) => others.filter((name) => name !== one).map((name) => [one, name])),
].map(([scanner, computer]) => ({ scanner, computer }));

// What Caps Lock turns round on the computer: nothing, letters, or every key, as French keyboards have it.
export const LOCKS = ['', 'letters', 'all'];

/**
 * What arrives of `text` where the scanner presses the keys that `scanner` has it on, and the computer takes them for
 * keys of `computer` with `lock` on; null where `scanner` has no key for one of its characters.
 */
export function typed(text, { scanner, computer }, lock = '') {
  let arrived = '';
  for (const character of text) {
    const shifted = KEYS[scanner].map((level) => [...level].indexOf(character));
    const level = shifted[0] >= 0 ? 0 : 1;
    if (shifted[level] < 0) return null;
    const key = KEYS[computer].map((each) => [...each][shifted[level]]);
    arrived += key[turns(key, lock) ? 1 - level : level];
  }
  return arrived;
}

function turns([plain, shifted], lock) {
  return lock === 'all' || (lock === 'letters' && plain !== shifted && plain.toUpperCase() === shifted);
}
