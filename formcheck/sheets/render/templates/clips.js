(() => {
  "use strict";
  // The page of all clips hands its order on as folder names behind the address.
  const handed = location.hash.match(/^#clips=(.+)$/);
  const nav = document.getElementById("clips");
  if (!handed || !nav) return;
  const folders = handed[1].split("/").map(decodeURIComponent);
  const here = folders.indexOf(decodeURIComponent(location.pathname.split("/").at(-2)));
  for (const link of nav.querySelectorAll("[data-to]")) {
    const folder = folders[here + Number(link.dataset.to)];
    if (here < 0 || folder === undefined) continue;
    link.href = `../${encodeURIComponent(folder)}/coach.html${location.hash}`;
    link.hidden = false;
  }
})();
