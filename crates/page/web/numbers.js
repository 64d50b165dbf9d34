// Steps a value in the last digit that is written: "188.2 mm" becomes "188.3 mm".

/** The number that a value begins with: sign, digits, point and digits, and what follows. */
const NUMBER = /^(\s*)([-+]?)(\d[\d_]*)(?:\.(\d+))?(.*)$/s;

/** The text with its last digit moved by so many steps; null where there is no number. */
function stepped(text, steps) {
  const found = NUMBER.exec(text);
  if (!found) return null;
  const [, blanks, sign, before, after = "", rest] = found;
  // Exact at any length: a step must not show the rounding of a float.
  const digits = BigInt(before.replaceAll("_", "") + after);
  const value = (sign === "-" ? -digits : digits) + BigInt(steps);
  const size = (value < 0n ? -value : value).toString().padStart(after.length + 1, "0");
  const whole = size.slice(0, size.length - after.length);
  const fraction = after.length > 0 ? `.${size.slice(size.length - after.length)}` : "";
  return `${blanks}${value < 0n ? "-" : ""}${whole}${fraction}${rest}`;
}

/** The choice that stands so many places behind this one; the first or last at the ends. */
function chosen(choices, text, steps) {
  const at = choices.indexOf(text.trim());
  if (at < 0) return choices[0];
  return choices[Math.min(choices.length - 1, Math.max(0, at + Math.sign(steps)))];
}
