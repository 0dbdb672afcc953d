// Search in the list that is on the page already: no network, no other file, and without a script
// the list is still there. Marks over letters and capitals do not matter.
(function () {
  "use strict";
  var flat = function (text) {
    return text.normalize("NFD").replace(/[\u0300-\u036f]/g, "").toLowerCase();
  };
  var box = document.getElementById("words");
  var told = document.getElementById("told");
  var groups = [].slice.call(document.querySelectorAll(".group"));
  var items = [].slice.call(document.querySelectorAll("li[data-words]"));
  var words = items.map(function (item) { return flat(item.dataset.words); });
  var search = function () {
    var wanted = flat(box.value).split(/\s+/).filter(Boolean);
    var found = 0;
    items.forEach(function (item, at) {
      var fits = wanted.every(function (word) { return words[at].indexOf(word) >= 0; });
      item.hidden = !fits;
      found += fits ? 1 : 0;
    });
    groups.forEach(function (group) {
      group.hidden = !group.querySelector("li:not([hidden])");
    });
    told.textContent = !wanted.length ? "" : found === 1 ? "1 found" : found + " found";
  };
  box.form.hidden = false;
  box.form.addEventListener("submit", function (event) {
    event.preventDefault();
    var first = document.querySelector("li[data-words]:not([hidden]) a");
    if (box.value.trim() && first) { first.click(); }
  });
  // What was looked for stands in the address, so that it is still there after Back.
  var keep = function () {
    try {
      history.replaceState(null, "", "#q=" + encodeURIComponent(box.value));
    } catch (error) {
      location.replace("#q=" + encodeURIComponent(box.value));
    }
  };
  var recall = function () {
    var asked = /^#q=(.*)$/.exec(location.hash);
    try {
      box.value = asked ? decodeURIComponent(asked[1]) : "";
    } catch (error) {
      box.value = "";
    }
    search();
  };
  box.addEventListener("input", function () { search(); keep(); });
  window.addEventListener("hashchange", recall);
  window.addEventListener("pageshow", recall);
  recall();
})();
