// The words of tests that several pages say: what a rule is called.
import { register } from './words.js';

register({
  en: {
    'rule.pass-fail': 'what you saw',
    'rule.range': 'a reading within limits',
    'rule.pressure-decay': 'pressure decay',
    'rule.vacuum-decay': 'vacuum decay',
    'rule.vessel-decay': 'pressure decay of a vessel',
    'rule.back-pressure': 'back pressure',
    'rule.vapor-liquid-ratio': 'vapor to liquid ratio',
    'rule.liquid-removal': 'liquid removal',
    'rule.flow-rate': 'flow rate',
    'rule.continuity': 'continuity',
    'rule.hose-length': 'length of the hose',
    'rule.meter-draft': 'error of the meter',
    'rule.leak-detector': 'line leak detector',
    'rule.spill': 'report of a spill',
    'rule.torque-applied': 'torque at the fastener',
  },
  es: {
    'rule.pass-fail': 'lo que usted vio',
    'rule.range': 'una lectura dentro de límites',
    'rule.pressure-decay': 'decaimiento de presión',
    'rule.vacuum-decay': 'decaimiento de vacío',
    'rule.vessel-decay': 'decaimiento de presión de un recipiente',
    'rule.back-pressure': 'contrapresión',
    'rule.vapor-liquid-ratio': 'relación vapor a líquido',
    'rule.liquid-removal': 'retiro de líquido',
    'rule.flow-rate': 'caudal',
    'rule.continuity': 'continuidad',
    'rule.hose-length': 'largo de la manguera',
    'rule.meter-draft': 'error del medidor',
    'rule.leak-detector': 'detector de fugas de la línea',
    'rule.spill': 'aviso de un derrame',
    'rule.torque-applied': 'par en la tuerca',
  },
});
