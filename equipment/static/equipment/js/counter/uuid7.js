// A UUIDv7 (RFC 9562, section 5.7): 48 bits of Unix milliseconds, version, 12 random bits, variant, 62 random bits.
// Made before anything is sent, so that sending again is harmless.

export function uuid7(now = Date.now(), random = crypto.getRandomValues(new Uint8Array(10))) {
  const bytes = new Uint8Array(16);
  for (let place = 5, rest = now; place >= 0; place -= 1, rest = Math.floor(rest / 256)) bytes[place] = rest % 256;
  bytes.set(random, 6);
  bytes[6] = (bytes[6] & 0x0f) | 0x70;
  bytes[8] = (bytes[8] & 0x3f) | 0x80;
  const hex = Array.from(bytes, (byte) => byte.toString(16).padStart(2, '0')).join('');
  return hex.replace(/^(.{8})(.{4})(.{4})(.{4})(.{12})$/, '$1-$2-$3-$4-$5');
}
