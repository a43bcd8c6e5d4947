// The page works without this. It renews the answer while a field is changed or slid, ticks rows without a new page, keeps the
// address in step with both, and tells what a word of the trade means where it stands.
(function () {
  "use strict";
  var late = 250, sooner = 60, running = null;

  function address(form, button) {
    var asked = new URLSearchParams(new FormData(form));
    if (button && button.name) asked.append(button.name, button.value);
    Array.from(asked.keys()).forEach(function (name) { if (!asked.get(name)) asked.delete(name); });
    return form.getAttribute("action") + "?" + asked.toString();
  }

  // Fields that nobody has in hand say what the new page says.
  function agree(form, fresh) {
    if (!fresh || form.dataset.moving) return;
    form.querySelectorAll('input[type="hidden"]').forEach(function (field) { field.remove(); });
    fresh.querySelectorAll('input[type="hidden"]').forEach(function (field) { form.prepend(field.cloneNode()); });
    Array.from(fresh.elements).forEach(function (field) {
      var mine = field.name && field.type !== "radio" && form.elements[field.name];
      if (!mine || !("value" in mine) || mine === document.activeElement) return;
      if (field.type === "range") { mine.max = field.max; mine.dataset.stops = field.dataset.stops; }
      mine.value = field.value;
    });
  }

  function renew(form, button) {
    var places = form.dataset.renews.split(" "), where = address(form, button), focus = button && button.value;
    var first = document.getElementById(places[0]);
    if (running) running.abort();
    running = new AbortController();
    first.classList.add("busy");
    return fetch(where, { signal: running.signal, credentials: "same-origin" }).then(function (reply) {
      return reply.text().then(function (text) {
        var made = new DOMParser().parseFromString(text, "text/html"), found = made.getElementById(places[0]);
        var wrong = made.querySelector(".wrong"), old = first.querySelector(".wrong");
        if (!found && !wrong) { location.assign(where); return; }
        if (!found) { if (old) old.remove(); first.prepend(wrong); first.classList.remove("busy"); return; }
        places.forEach(function (id) { document.getElementById(id).replaceWith(made.getElementById(id)); });
        agree(form, made.querySelector('form[data-renews="' + form.dataset.renews + '"]'));
        var same = made.querySelector(".same"), mine = document.querySelector(".same");
        if (same && mine) mine.replaceWith(same);
        document.title = made.title || document.title;
        if (reply.ok) history.replaceState(null, "", reply.url.replace(location.origin, "").replace(/#.*/, ""));
        if (focus) { var again = document.querySelector('button[name="tick"][value="' + focus + '"]'); if (again) again.focus(); }
        wire();
      });
    }).catch(function (problem) { if (problem.name !== "AbortError") location.assign(where); });
  }

  // A slider moves the figure beside it.
  function slide(field) {
    var beside = document.getElementById(field.dataset.moves), stop = field.dataset.stops.split("|")[Number(field.value)];
    if (beside && stop) { beside.value = stop; field.setAttribute("aria-valuetext", stop); }
  }

  function wire() {
    document.querySelectorAll("form[data-renews]").forEach(function (form) {
      if (form.dataset.wired) return;
      form.dataset.wired = "yes";
      var timer = null;
      function now(button) { clearTimeout(timer); delete form.dataset.moving; renew(form, button); }
      form.addEventListener("input", function (event) {
        var slid = event.target.type === "range";
        if (slid) slide(event.target);
        clearTimeout(timer);
        form.dataset.moving = "yes";
        timer = setTimeout(now, slid ? sooner : late);
      });
      form.addEventListener("submit", function (event) { event.preventDefault(); now(event.submitter); });
    });
  }

  // Empty fields are left out of addresses.
  document.addEventListener("submit", function (event) {
    var form = event.target;
    if (form.method !== "get" || form.dataset.renews) return;
    form.querySelectorAll("input, select").forEach(function (field) { if (!field.value) field.disabled = true; });
    setTimeout(function () { form.querySelectorAll("input, select").forEach(function (field) { field.disabled = false; }); }, 0);
  });
  // A word of the trade is told where it stands; its own screen is one press further.
  document.addEventListener("click", function (event) {
    var word = event.target.closest && event.target.closest("a.word");
    if (!word || event.ctrlKey || event.metaKey || event.shiftKey || !HTMLElement.prototype.showPopover) return;
    event.preventDefault();
    var told = document.getElementById("told-word") || document.body.appendChild(document.createElement("div"));
    told.id = "told-word";
    told.className = "told-word";
    told.popover = "auto";
    told.setAttribute("role", "dialog");
    told.setAttribute("aria-label", word.textContent);
    told.textContent = "";
    [["strong", word.textContent], ["p", word.title], ["a", "More of it"]].forEach(function (one) {
      told.appendChild(document.createElement(one[0])).textContent = one[1];
    });
    told.lastChild.href = word.getAttribute("href");
    told.lastChild.className = "pill";
    told.showPopover();
    told.lastChild.focus();
  });
  wire();
})();
