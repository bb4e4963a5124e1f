// Is it this person's PIN? Worked out on the tablet, by the browser's own arithmetic.

/** @typedef {{salt: string, iterations: number, verifier: string}} Pin  hexadecimal */

/** @param {string} hex */
function bytes(hex) {
  return Uint8Array.from(hex.match(/../g) ?? [], (pair) => parseInt(pair, 16));
}

/** @param {ArrayBuffer} buffer */
function hex(buffer) {
  return Array.from(new Uint8Array(buffer), (byte) => byte.toString(16).padStart(2, "0")).join("");
}

/**
 * HMAC-SHA-256 (RFC 2104), keyed by the tablet's salt, of PBKDF2-SHA-256 (RFC 8018, 5.2) of the PIN.
 * @param {string} digits
 * @param {{salt: string, iterations: number}} pin
 * @param {string} tabletSalt  hexadecimal
 * @param {SubtleCrypto} subtle
 * @returns {Promise<string>} hexadecimal
 */
export async function verifierOf(digits, { salt, iterations }, tabletSalt, subtle) {
  const key = await subtle.importKey("raw", new TextEncoder().encode(digits), "PBKDF2", false, ["deriveBits"]);
  const base = await subtle.deriveBits({ name: "PBKDF2", hash: "SHA-256", salt: bytes(salt), iterations }, key, 256);
  const own = await subtle.importKey("raw", bytes(tabletSalt), { name: "HMAC", hash: "SHA-256" }, false, ["sign"]);
  return hex(await subtle.sign("HMAC", own, base));
}

/**
 * @param {string} digits
 * @param {Pin} pin
 * @param {string} tabletSalt
 * @param {SubtleCrypto} subtle
 */
export async function isRight(digits, pin, tabletSalt, subtle) {
  return (await verifierOf(digits, pin, tabletSalt, subtle)) === pin.verifier;
}
