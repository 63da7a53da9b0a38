// One sentence for each name that an alarm's `args.say` may have (docs/alarms.md).
import { register } from './words.js';

register({
  en: {
    'told.no-reason': 'no reason given',
    'told.no-check': 'A check',
    'told.alarm.point-live': '{title} reads LIVE. Stop, hands out, keep clear.',
    'told.alarm.point-disagrees':
      '{title} has sensors that disagree. Stop, hands out, keep clear.',
    'told.alarm.check-failed': '{title}: this check failed. Stop, hands out, keep clear.',
    'told.alarm.point-stale': '{title} is no longer heard. Stop, hands out, keep clear.',
    'told.alarm.controller-offline':
      '{title} has lost its controller. Stop, hands out, keep clear.',
    'told.alarm.point-unknown':
      '{title} is no longer proved isolated. Stop, hands out, keep clear.',
    'told.alarm.tag-missing':
      '{title} has lost the lock of the technician in charge. Stop, hands out, keep clear.',
    'told.alarm.link-lost':
      'What was asked and hung could not be heard for too long. Stop, hands out, keep clear.',
    'told.alarm.check-void':
      '{title} does not stand any more. Stop, hands out, check it again.',
    'told.alarm.daemon-away':
      'The daemon was away too long to vouch for the lockout. Stop, hands out, keep clear.',
    'told.alarm.unproved': 'The lockout is no longer proved. Stop, hands out, keep clear.',
    'told.alarm.stop-called': '{by} called a stop: {reason}. Keep clear until it is seen to.',
    'told.alarm.absent-lock-removed':
      '{by} removed the lock of {person} on {title}: who relied on it looks again.',
    'told.alarm.absent-lock-removed.badge':
      '{by} removed the lock of {badge} on {title}: who relied on it looks again.',
    'told.alarm.check-in-overdue': '{person} has not checked in: find out how they are.',
    'told.alarm.tag-left': 'The lock of {person} has hung on {title} for over 12 hours.',
    'told.alarm.tag-left.badge': 'The lock of {badge} has hung on {title} for over 12 hours.',
    'told.alarm.left-live':
      '{title} reads LIVE, and {position} was repaired and not tested. It can dispense: isolate it.',
    'told.alarm.link-down':
      'No connection to the site’s hardware: nothing is permitted.',
    'told.alarm.link-down.topic': 'The broker delivers nothing on {subject}: nothing is permitted.',
    'told.alarm.journal-down': 'The journal cannot be written: nothing is permitted.',
    'told.alarm.journal-down.room':
      'The journal cannot be written: {min} {unit} must be free on its disk, {value} {unit} are. Nothing is permitted.',
    'told.alarm.site-contested':
      'Another daemon says that it serves this site: nothing is permitted here.',
    'told.alarm.clock':
      'The clock of {subject} and the daemon’s disagree: its readings cannot be trusted.',
    'told.alarm.clock.daemon':
      'The daemon’s clock is behind the journal: nothing is permitted until it is compared.',
    'told.alarm.clock.set': 'The daemon’s clock was set: nothing is permitted for a minute.',
    'told.alarm.spill-report-due':
      'Spill {subject} at {position}, {value} {unit} of {product}: report due by {until}.',
    'told.alarm.spill-report-due.overdue':
      'Spill {subject} at {position}, {value} {unit} of {product}: the report WAS due by {until}.',
    'told.alarm.webhook-down':
      'The webhook {subject} does not take events: what it keeps of this site is out of date. Nothing is lost.',
  },
  es: {
    'told.no-reason': 'no dio motivo',
    'told.no-check': 'Una verificación',
    'told.alarm.point-live': '{title} está ENERGIZADO. Pare, manos fuera, aléjese.',
    'told.alarm.point-disagrees':
      '{title}: sus sensores no coinciden. Pare, manos fuera, aléjese.',
    'told.alarm.check-failed': '{title}: esta verificación no pasó. Pare, manos fuera, aléjese.',
    'told.alarm.point-stale': '{title} se ha callado. Pare, manos fuera, aléjese.',
    'told.alarm.controller-offline':
      '{title}: su controlador perdió la conexión. Pare, manos fuera, aléjese.',
    'told.alarm.point-unknown':
      '{title} ya no se lee aislado con certeza. Pare, manos fuera, aléjese.',
    'told.alarm.tag-missing':
      'Se quitó de {title} el candado del técnico a cargo. Pare, manos fuera, aléjese.',
    'told.alarm.link-lost':
      'Demasiado tiempo sin poder oír peticiones ni candados. Pare, manos fuera, aléjese.',
    'told.alarm.check-void': '{title}: anulada. Pare, manos fuera, verifíquelo de nuevo.',
    'told.alarm.daemon-away':
      'El programa estuvo fuera de línea demasiado tiempo para responder por el bloqueo. Pare, manos fuera, aléjese.',
    'told.alarm.unproved': 'El bloqueo ya no está probado. Pare, manos fuera, aléjese.',
    'told.alarm.stop-called': '{by} pidió parar: {reason}. Aléjese hasta que se haya atendido.',
    'told.alarm.absent-lock-removed':
      '{by} quitó el candado de {person} en {title}: quien contaba con él, mire de nuevo.',
    'told.alarm.absent-lock-removed.badge':
      '{by} quitó el candado de {badge} en {title}: quien contaba con él, mire de nuevo.',
    'told.alarm.check-in-overdue': '{person} no ha dado señales: averigüe cómo está.',
    'told.alarm.tag-left': 'El candado de {person} lleva más de 12 horas en {title}.',
    'told.alarm.tag-left.badge': 'El candado de {badge} lleva más de 12 horas en {title}.',
    'told.alarm.left-live':
      '{title} está ENERGIZADO, y {position} se reparó y no se probó. Puede despachar: aíslelo.',
    'told.alarm.link-down':
      'Sin conexión con los equipos del sitio: no se permite nada.',
    'told.alarm.link-down.topic': 'El bróker no entrega nada en {subject}: no se permite nada.',
    'told.alarm.journal-down': 'No se puede escribir la bitácora: no se permite nada.',
    'told.alarm.journal-down.room':
      'No se puede escribir la bitácora: hacen falta {min} {unit} libres en su disco y hay {value} {unit}. No se permite nada.',
    'told.alarm.site-contested':
      'Otro programa dice que atiende este sitio: aquí no se permite nada.',
    'told.alarm.clock':
      'El reloj de {subject} y el del programa no coinciden: sus lecturas no son de fiar.',
    'told.alarm.clock.daemon':
      'El reloj del programa está atrasado respecto de la bitácora: no se permite nada hasta compararlo.',
    'told.alarm.clock.set': 'Se ajustó el reloj del programa: no se permite nada por un minuto.',
    'told.alarm.spill-report-due':
      'Derrame {subject} en {position}, {value} {unit} de {product}: informe antes de {until}.',
    'told.alarm.spill-report-due.overdue':
      'Derrame {subject} en {position}, {value} {unit} de {product}: el informe YA debía estar antes de {until}.',
    'told.alarm.webhook-down':
      'El webhook {subject} no recibe avisos: lo que guarda de este sitio está atrasado. No se pierde nada.',
  },
});
