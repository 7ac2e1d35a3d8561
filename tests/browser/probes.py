"""What is asked of a page in the browser."""

TOO_SMALL = """() => {
  const inClosed = (e) => {
    for (let at = e.parentElement; at; at = at.parentElement)
      if (at.tagName === 'DETAILS' && !at.open && !at.firstElementChild.contains(e)) return true;
    return false;
  };
  const skipped = (e) => e.type === 'hidden' || e.matches('.skip') || e.closest('dialog, noscript');
  const target = (e) =>
    (e.matches('input[type=radio], input[type=checkbox]') && e.closest('label')) || e;
  const bad = [];
  for (const e of document.querySelectorAll('a[href], button, input, select, textarea, summary')) {
    if (skipped(e) || inClosed(e)) continue;
    const box = target(e).getBoundingClientRect();
    if (box.width === 0 && box.height === 0) continue;
    if (box.width < 47.5 || box.height < 47.5) {
      const name = e.textContent.trim().slice(0, 40) || e.name;
      bad.push(`${e.tagName} ${name} ${box.width}x${box.height}`);
    }
  }
  return bad;
}"""
"""Links, fields and buttons of less than 48 pixels either way."""

WIDE = "() => document.documentElement.scrollWidth - document.documentElement.clientWidth"
"""By how much a page is wider than its window."""

PALE = """() => {
  const rgb = (text) => text.match(/[\\d.]+/g).slice(0, 3).map(Number);
  const linear = (v) => (v <= 0.04045 ? v / 12.92 : ((v + 0.055) / 1.055) ** 2.4);
  const light = (c) => {
    const [r, g, b] = c.map((v) => linear(v / 255));
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = (e) => {
    for (let at = e; at; at = at.parentElement) {
      const c = getComputedStyle(at).backgroundColor;
      if (!c.endsWith(', 0)') && c !== 'transparent') return rgb(c);
    }
    return [255, 255, 255];
  };
  const bad = new Set();
  for (const e of document.querySelectorAll('main *, header *, footer *')) {
    if (![...e.childNodes].some((n) => n.nodeType === 3 && n.textContent.trim())) continue;
    const style = getComputedStyle(e);
    const colour = e.closest('svg') ? style.fill : style.color;
    if (e.tagName === 'title' || !colour.startsWith('rgb')) continue;
    const [a, b] = [light(rgb(colour)), light(ground(e))].sort((x, y) => y - x);
    const ratio = (a + 0.05) / (b + 0.05);
    if (ratio < 4.5) bad.add(`${e.tagName}.${e.className} ${ratio.toFixed(2)}`);
  }
  return [...bad];
}"""
"""Words with a contrast of less than 4.5 to 1 (relative luminance as WCAG 2.2 defines it)."""
