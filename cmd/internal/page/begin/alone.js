// A page that is one file shows its map at once.

begin().catch((fault) => {
  const say = element("wait") || element("read-grid");
  say.textContent = "This browser cannot show the map (" + fault.message + "). A browser of 2023 or later can.";
  throw fault;
});
