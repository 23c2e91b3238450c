package picture

import (
	"fmt"
	"slices"
	"strings"
)

// caution is a hazard, for which dusts or families of material it is printed
// (none: always), and its source.
type caution struct {
	of     []string
	text   string
	source string
}

// practice marks what the trade does without a source to name.
const practice = "common practice, no source"

var cautions = []caution{
	{nil, "Local rules and the judgement of qualified people come before this sheet.", ""},
	{nil, "Eye protection on. Guard closed, hands away until the spindle stands still; nobody else within reach.", "29 CFR 1910.133; HSE WIS 22"},
	{nil, "Never leave the machine running alone. A part or slug that comes free can be thrown or lift into the cutter.", practice},
	{nil, "Never run a cutter above the speed given for it. Seat the shank fully; check the nut.", practice},
	{nil, "Hold the work so that it cannot rock, lift or flex under the cutter; look again after the first pass.", practice},
	{[]string{"carbon"}, "Carbon dust conducts and can short electrical equipment; keep it out of spindle, control and servo. It can corrode aluminium.", "TM 1-1500-204-23-11"},
	{[]string{"carbon", "glass", "aramid"}, "Extract at the cutter. Particle filter (0.3 µm), gloves, goggles, long sleeves closed at the wrist. Wash with cold water first; no compressed air on clothes.", "TM 1-1500-204-23-11; the last from common practice"},
	{[]string{"glass"}, "Glass dust: recommended limits are 3 fibres/cm³ and 5 mg/m³ in all.", "NIOSH Pocket Guide, fibrous glass dust, from memory"},
	{[]string{"aramid"}, "Aramid is sheared, not cut: a dull or diamond-pattern cutter pulls fuzz that winds around it and can burn. Stop and clear it.", "TM 1-1500-204-23-11 for the cutting; the rest common practice"},
	{[]string{"hardwood", "wood"}, "Balsa and birch dust count as hardwood dust: a limit of 3 mg/m³ in Britain, 2 mg/m³ in the EU; wood dust can cause cancer. Keep it as low as you can.", "HSE EH40; Directive 2004/37/EC; IARC vol. 62"},
	{[]string{"hardwood", "wood", "carbon", "foam"}, "Fine dust in the air can burn or explode with a spark. Fire watch after wood.", "HSE WIS 23"},
	{[]string{"hardwood", "wood", "carbon", "aluminium"}, "Aluminium chips and grinding sparks never go into the bag that collects wood or carbon dust.", practice},
	{[]string{"aluminium"}, "Chips are long, sharp and hot: brush, never the hand. A cutter that loads up breaks; clear chips, use a little fluid if the job allows.", practice},
	{[]string{"foam"}, "Foam dust is light, charged and burns; extract it, no hot wire or flame near. Foam that melts onto the cutter throws pieces.", practice},
	{[]string{"acetal", "abs", "plastic"}, "Plastic chips melt at a dull or slow-fed cutter. Overheated acetal gives off formaldehyde, ABS irritating fumes: stop when it smells.", practice},
}

// cautions prints the hazards that the material brings, where they are first needed:
// before anything turns. Published sources stand below by number.
func (d *sheet) cautions(s Scene) {
	d.numbered("Cautions: before the spindle starts")
	of := append([]string{s.Work.Material.Family}, s.Work.Material.Dust...)
	var sources []string
	for _, c := range cautions {
		if len(c.of) > 0 && !slices.ContainsFunc(c.of, func(x string) bool { return slices.Contains(of, x) }) {
			continue
		}
		if c.source == "" || c.source == practice {
			d.tick("%s", c.text)
			continue
		}
		sources = append(sources, fmt.Sprintf("%d %s", len(sources)+1, c.source))
		d.tick("%s [%d]", c.text, len(sources))
	}
	d.small("Sources: %s. The others: %s.", strings.Join(sources, "; "), practice)
}
