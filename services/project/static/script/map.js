/* Draws the ways of a day's crews on the map, and lets the list beside it lead to each stop.
   Without this file the list stands alone; it says all that the map shows. */

const DASHES = [null, "8 5", "2 5", "12 4 2 4", "5 2"];

const told = (mark, className) => {
  const said = document.createElement("span");
  said.textContent = mark;
  said.className = className;
  return said;
};

const marked = (point, mark, words, className) =>
  L.marker(point, {
    icon: L.divIcon({ html: told(mark, "sign"), className, iconSize: [32, 24] }),
    title: words,
    alt: words,
    keyboard: true,
  }).bindTooltip(told(words, "words"));

const drawRoute = (map, route, place) => {
  const dashes = DASHES[place % DASHES.length];
  L.polyline(route.way, { className: "way", dashArray: dashes, interactive: false }).addTo(map);
  marked(route.yard.point, "◆", route.yard.name, "stop yard").addTo(map);
  const markers = route.stops.map((stop) => {
    const words = `${stop.mark} ${stop.name}, ${stop.at}`;
    return [stop.key, marked(stop.point, stop.mark, words, "stop").addTo(map)];
  });
  return { way: route.way, markers };
};

const button = (words, name) => {
  const made = document.createElement("button");
  made.type = "button";
  made.className = "asked";
  made.textContent = words;
  made.setAttribute("aria-label", `${words}: ${name}`);
  return made;
};

const lead = (map, place, markers) => {
  for (const item of document.querySelectorAll("[data-stop]")) {
    const marker = markers.get(Number(item.dataset.stop));
    if (!marker) continue;
    const shows = button(place.dataset.show, item.dataset.name);
    shows.addEventListener("click", () => {
      map.panTo(marker.getLatLng(), { animate: false });
      marker.openTooltip();
      place.scrollIntoView({ block: "nearest" });
    });
    item.append(" ", shows);
  }
};

const draw = (place, facts) => {
  place.hidden = false;
  const map = L.map(place, {
    attributionControl: false,
    zoomControl: false,
    scrollWheelZoom: false,
    fadeAnimation: false,
    zoomAnimation: false,
    maxZoom: 18,
  });
  const { zoomIn, zoomOut } = place.dataset;
  L.control.zoom({ zoomInTitle: zoomIn, zoomOutTitle: zoomOut }).addTo(map);
  L.control.scale({ metric: false }).addTo(map);
  if (facts.tiles) {
    const credit = told(facts.credit, "credit").innerHTML;
    L.control.attribution({ prefix: false }).addTo(map);
    L.tileLayer(facts.tiles, { attribution: credit, maxZoom: 18 }).addTo(map);
  }
  const drawn = facts.routes.map((route, number) => drawRoute(map, route, number));
  map.fitBounds(drawn.flatMap((each) => each.way), { padding: [32, 32], maxZoom: 15 });
  lead(map, place, new Map(drawn.flatMap((each) => each.markers)));
};

const place = document.getElementById("map");

if (place && window.L) {
  fetch(place.dataset.source, { credentials: "same-origin" })
    .then((answer) => (answer.ok ? answer.json() : { routes: [] }))
    .then((facts) => facts.routes.length && draw(place, facts));
}
