// The usual few lines on the MQTT client of Node.js that do nothing with what they hear, for
// comparison. usage: node node_subscriber.mjs PORT FILTER...
import { createRequire } from "node:module";

const require = createRequire(new URL("../../outside/", import.meta.url));
const mqtt = require("mqtt");

const [port, ...filters] = process.argv.slice(2);
const client = mqtt.connect({ host: "127.0.0.1", port: Number(port), protocolVersion: 5 });
let heard = 0;
client.on("message", () => {
  heard += 1;
});
client.on("connect", async () => {
  await client.subscribeAsync(filters, { qos: 1 });
  console.error("subscribed");
});
process.on("SIGTERM", () => {
  console.log(JSON.stringify({ messages: heard }));
  process.exit(0);
});
