"""Owns the words other logs have for our tables, columns and words, in several languages.

From general knowledge of the languages (no source); `suggest` proposes them, nothing else reads
them.
"""

from collections.abc import Mapping


def _set(words: str) -> frozenset[str]:
    return frozenset(words.split())


TABLE_WORDS: Mapping[str, str] = {
    "trips": "trip trips outing outings tur turer turar fahrt fahrten ausfahrt ausfahrten"
    " sortie sorties tocht tochten salida salidas day days ture uscite uscita reissut"
    " reissu matkat viagens wyprawy rejsy runs",
    "sets": "set sets line lines linjer linje rod-log rodlog rods leine leinen lignes ligne"
    " lijnen utsett utsettinger einsatz einsätze líneas pose poses liner canne lenze"
    " siimat vavat linhas wędki",
    "strikes": "strike strikes fish catch catches bites bite hits hit fangst fangster fisk napp"
    " hugg biss bisse fang fänge fångst fångster touche touches prise prises beet"
    " vangst vangsten picadas capturas catture kalat saalis tärpit połowy brania",
    "readings": "reading readings speed instrument instruments måling målinger mätningar"
    " messwerte messungen mesures relevés metingen lecturas log-readings letture"
    " misure mittaukset medições pomiary",
    "casts": "cast casts profile profiles temperature temperatures ctd temperaturprofil"
    " temperaturprofiler profil profils sonde profiel perfil profili lämpötilat"
    " lämpötilaprofiili perfis temps",
    "soaks": "soak soaks trial trials calibration kalibrering kalibrierung étalonnage",
}

# column -> spellings; one that ends in a table's name in brackets holds for that table alone
HEADINGS: Mapping[str, str] = {
    "trip": "trip|trip id|trip no|trip nr|trip number|outing|tur|turnr|tur nr|tur id|fahrt"
    "|fahrt nr|ausfahrt|sortie|no sortie|tocht|salida|resa|uscita|reissu|viagem|saída"
    "|rejs|wyprawa|run"
    "|journey|session|charter|voyage|cruise|trip ref",
    "date": "date|day|dato|datum|tag|jour|fecha|dag|data|päivä|pvm|päivämäärä|dia",
    "start": "start|start time|begin|began|lines in|first line in|lines down|started|starttid"
    "|start kl|beginn|von|début|debut|départ|inicio|aanvang|fra|från|departure|afgang"
    "|inizio|alku|lähtö|início|wyjście|początek|set lines|lines set"
    "|lines wet|fishing from|gear in|commenced|first rod in|time on",
    "end": "end|end time|finish|lines out|lines up|last line out|stop|ended|slutt|slut"
    "|slutttid|sluttid|ende|bis|fin|einde|til|till|return|hjemkomst|fine|loppu|paluu"
    "|fim|powrót|koniec|pulled lines|lines pulled"
    "|finished|ended|lines dry|fishing to|gear out|packed up|last rod out|time off|quit",
    "area": "area|where|water|place|location|sted|område|plats|ort|gebiet|gewässer|lieu"
    "|secteur|zone|gebied|lugar|zona|ground|luogo|paikka|alue|vesistö|local|miejsce"
    "|łowisko|spot"
    "|grounds|section|beat|mark|stretch|region|basin|waters|loc|venue|bay",
    "rods": "rods|no of rods|number of rods|rods out|stenger|antall stenger|spön|antal spön"
    "|ruten|anzahl ruten|cannes|nb cannes|hengels|cañas|antal stænger|canne"
    "|numero canne|n canne|vapoja|vavat|canas|wędki|liczba wędek|no rods"
    "|lines|rods fished|poles|nr rods|rod count|spread size|stænger|stangen",
    "note": "note|notes|remark|remarks|comment|comments|notat|merknad|anmerkning|anmärkning"
    "|bemerkung|notiz|remarque|remarques|opmerking|nota|notas|observations|bemærkning"
    "|bemærkninger|osservazioni|huomio|huomautus|huom|observações|uwagi"
    "|memo|rmk|rmks|obs|observation|anything else|details|misc|free text|diary|journal|story",
    "rod": "rod|rod id|rod no|rod nr|pole|stang|stangnr|spö|rute|angel|canne|hengel|caña"
    "|which rod|rod name|stang nr|canna|vapa|vapanro|cana|wędka|pole no|position"
    "|rod position|holder|stick|rod code|rod label|line no|slot",
    "side": "side|board|bordside|sida|seite|bord|côté|cote|zijde|lado|boat side|lato|puoli"
    "|bordo|burta|strona"
    "|p s|port stbd|port starboard|l r|tack",
    "gear": "gear|rig|presentation|equipment|delivery|utstyr|redskap|metode|gerät|geraet"
    "|montage|matériel|materiel|engin|tuig|aparejo|type of gear|method|grej"
    "|attrezzatura|attrezzo|väline|pyydys|equipamento|sprzęt|setup|set up"
    "|tackle|type of line|line type|fished on|apparatus|delivery system|run on",
    "setting": "setting|dial|dial setting|diver setting|innstilling|inställning|einstellung"
    "|skala|réglage|reglage|stand|ajuste|indstilling|regolazione|tacca|asetus|säätö"
    "|regulação|ustawienie|dial no"
    "|plate|notch|clicks|dial position|number on dial|dial set",
    "line_out": "line out|line|length out|feet out|line length|counter|counter reading|cable"
    "|amount out|linje ute|line ute|linelengde|lina ute|linlängd|leine|schnur"
    "|schnurlänge|leine draussen|ligne|longueur ligne|ligne sortie|lijn uit"
    "|lijnlengte|línea fuera|back|line ude|filo fuori|lenza fuori|siimaa ulkona"
    "|siimaa|linha fora|linka|żyłka|ft back|feet back"
    "|let out|line counter|counter feet|amount of line|ft out|length of line|wire out"
    "|payed out|line used|m out|metres out|meters out",
    "lead": "lead|ball to lure|setback|dropback|drop back|avstand|vorlauf|recul|afstand"
    "|distance behind ball|behind ball|ball to bait|ft behind ball|stretch back|clip to lure",
    "leader_length": "leader|leader length|leader len|fortom|fortomlengde|tafs|tafslängd|vorfach"
    "|vorfachlänge|bas de ligne|bas de ligne longueur|onderlijn|bajo de línea|forfang"
    "|forfangslængde|terminale|finale|peruke|perukkeen pituus|terminal|przypon"
    "|trace|trace length|ldr|fluoro|snubber to lure|tippet|hooklength",
    "lure": "lure|lures|bait|spoon|fly|agn|sluk|bete|drag|köder|koeder|leurre|kunstaas"
    "|señuelo|lure name|pattern|blink|wobler|esca|artificiale|viehe|uistin|isca"
    "|amostra|przynęta|what was on it"
    "|offering|terminal tackle|plug|fly|artificial|what was on|colour of lure|lure type",
    "time_in": "time in|in|in at|from|start|start time|began|down|down at|deployed|lines in at"
    "|ut kl|satt|ute fra|i|einlass|rein|ein|mise à l'eau|mise|te water|set at"
    "|i vannet|sat ud|in acqua|messa in acqua|veteen|laskettu|na água|do wody"
    "|set|time set|deploy|deployed at|went in|wet|begin|put in|put down|started fishing",
    "time_out": "time out|out|out at|to|until|end|end time|up|up at|retrieved|opp|inn kl|opp kl"
    "|upp|raus|aus|relève|releve|sortie de l'eau|uit water|pulled|opp av vannet"
    "|taget op|fuori acqua|recupero|ylös|nostettu|recolhida|z wody"
    "|time pulled|retrieve|retrieved at|came up|came in|brought in|finish|finished|taken up|hauled",
    "ended_by": "ended by|end by|reason|why out|ended|result of set|årsak|orsak|grund|motif"
    "|raison|reden|motivo|why|årsag|causa|syy|powód|how it ended|how ended"
    "|why pulled|why up|cause|reason up|what ended it|came up because|reason pulled",
    "time": "time|clock|at|hour|when|time of strike|strike time|hit at|hit time|time hit"
    "|bite time|hooked at|kl|klokka|klokkeslett|tid|klockan|uhrzeit|zeit|heure|tijd"
    "|tijdstip|hora|fish on|klokken|tidspunkt|ora|orario|kello|aika|klo|godzina|czas"
    "|tm|taken at|caught at|time caught|bite|struck|time of bite|time of hit|o clock",
    "species": "species|fish|kind|kind of fish|art|fiskeart|fisk|fischart|fisch|espèce|espece"
    "|poisson|soort|vis|especie|type of fish|specie|pesce|laji|kala|kalalaji|espécie"
    "|peixe|gatunek|ryba|what was it"
    "|spp|sp|caught|breed|fish type|kind caught|fish species",
    "what": "what|action|in out|in or out|up down|event|what was done|change",
    "outcome": "outcome|result|fate|landed or lost|utfall|resultat|ergebnis|résultat|resultaat"
    "|resultado|landed|esito|tulos|lopputulos|wynik|boated|in the boat"
    "|kept returned|disposition|what happened|did you land it|landed y n|kept|kept or released"
    "|end result|how it went",
    "length": "length|fish length|len|size|lengde|längd|länge|laenge|longueur|taille|lengte"
    "|longitud|længde|lunghezza|pituus|comprimento|długość|how long|inches"
    "|fork length|total length|long|fl|tl|measured|cm",
    "weight": "weight|fish weight|wt|vekt|vikt|gewicht|poids|peso|vægt|paino|massa|waga"
    "|how heavy|pounds"
    "|heavy|mass|kg|lb|lbs|round weight|scale",
    "speed": "speed|boat speed|sog|stw|fart|hastighet|geschwindigkeit|tempo|fahrt|vitesse"
    "|snelheid|velocidad|trolling speed|velocità|nopeus|velocidade|prędkość|gps speed"
    "|gps spd|spd",
    "speed_kind": "speed kind|kind of speed|speed type|over|through|type fart|fartstype"
    "|geschwindigkeitsart|type de vitesse|farttype|tipo di velocità|nopeuden laji"
    "|tipo de velocidade|rodzaj prędkości|spd over|speed over"
    "|speed source|source of speed|speed from|measured by|gps or log",
    "surface_temp": "surface temp|surface temperature|sst|surface|water temp|overflatetemp"
    "|overflatetemperatur|overflate|yttemperatur|ytvatten|oberflächentemperatur"
    "|oberfläche|temp surface|température surface|oppervlaktetemp"
    "|temperatura superficie|temp|overfladetemp|overfladetemperatur|temp superficie"
    "|temperatura superficiale|pintalämpö|pintalämpötila|pintaveden lämpötila"
    "|temperatura da superfície|temperatura powierzchni|top temp"
    "|surf|sea temp|sea surface temp|water temperature|surf temp|temp sfc|lake temp|temp top"
    "|hull temp|transducer temp",
    "depth_temp": "depth temp|probe temp|ball temp|temp at ball|dybdetemp|sondentemperatur"
    "|temp down|temp at depth|downrigger temp|temp at probe|deep temp",
    "heading": "heading|hdg|compass|course|cog|kurs|steuerkurs|koers|cap|rumbo",
    "probe_depth": "probe depth|ball depth|depth of probe|sondedybde|sondentiefe"
    "|depth of ball|depth at ball|probe at",
    "depth": "depth|dybde|dyp|djup|tiefe|profondeur|diepte|profundidad|depth of logger"
    "|profondità|syvyys|profundidade|głębokość|down"
    "|how deep",
    "temp": "temp|temperature|temperatur|temperature at depth|température|wassertemperatur"
    "|temperatuur|temperatura|water temp|lämpötila|deg|degrees"
    "|degc|degf|temp at depth",
}

FILLERS = _set(
    "a an and any code desc did do for is it my name new no nr num number of or our"
    " ref s t tbl text that the this used value was we were what which who with x you your"
    " av de der den det des die du el la le les og von"
)
"""Words of a heading that say little of what stands below it."""

BESIDES = _set(
    "air baro barometer barometric bottom breeze clarity cloud clouds cost created diesel duration"
    " elapsed engine fare fee fin fow fuel gas girth harness hours hrs humidity ice lat"
    " latitude"
    " launch light lon longitude minutes modified moon photo pic picture precip pressure price rain"
    " seas sex sky sonar sounder stomach sun tide timestamp updated visibility waves waypoint"
    " weather wind"
    " bølger fyring luft måne vejr vind vær väder lufttemp"
    " bewölkung mond wellen wetter lucht maan weer golven"
    " houle lune météo vent viento luna tiempo oleaje tuuli sää"
)
"""What logs tell besides, and no column of ours holds; of a heading that has one, no other word
is heard."""

PERSONS = _set(
    "angler anglers captain client clients crew customer group guest guests guide mate party"
    " skipper"
    " who"
)

FISH = _set(
    "trout salmon char charr laker lakers steelhead brown browns rainbow rainbows king kings coho"
    " chinook sockeye atlantic landlocked pike musky muskie walleye zander perch pikeperch bass"
    " striper whitefish grayling cod pollock pollack mackerel tuna bluefish wahoo mahi dorado"
    " sailfish"
    " burbot kokanee bull brook"
    " ørret ørreter laks røye gjedde abbor sik öring lax röding gädda abborre gös ørred gedde"
    " forelle forellen seeforelle bachforelle lachs saibling hecht barsch truite saumon omble"
    " brochet"
    " sandre perche forel zalm snoek baars snoekbaars trucha salmón lucio taimen lohi kuha hauki"
    " ahven trota salmone luccio persico"
)
"""Words of which names of trolled fish are made."""

LURES = _set(
    "spoon spoons plug plugs fly flies flasher dodger spinner minnow crankbait crank stickbait"
    " blade"
    " bait herring squid hoochie worm teaser jointed wobbler"
    " silver gold green blue red orange pink purple black white yellow chartreuse copper glow pearl"
    " chrome brass firetiger"
    " skje sluk flue grønn blå rød sølv gull hvit svart sked grön röd silver vit blinker grün blau"
    " rot silber gold weiß schwarz cuillère vert bleu rouge argent lepel groen blauw rood zilver"
    " cuchara verde azul rojo plata lusikka vaappu"
)
"""Words of which names of lures are made: what they are, and their colours."""

OF_THE_BOAT = _set(
    "out in off back home left dock docked depart departed departure dep arrive arrived arrival arr"
    " return returned harbour harbor marina slip mooring ramp launch"
    " afgang hjemkomst départ retour lähtö paluu"
)
"""Words of headings of when a boat left and came home, which its lines do later and sooner."""

DENIALS = _set("no not never without ikke inte nicht kein pas non niet geen ei nie")

WORDS: Mapping[str, Mapping[str, str]] = {
    "side": {
        "port": "port|p|larboard|left|babord|bb|b|backbord|bâbord|bakboord|babor|venstre|links"
        "|gauche|vb|bagbord|sinistra|vasen|esquerda|bombordo|lewa burta|lewa",
        "starboard": "starboard|s|stb|stbd|styrbord|sb|steuerbord|tribord|stuurboord|estribor"
        "|høyre|right|rechts|droite|tb|dritta|oikea|estibordo|prawa burta|prawa",
        "centre": "centre|center|c|midt|mitt|mitte|milieu|midden|centro|middle|m|akter|keski"
        "|keskellä|środek",
    },
    "outcome": {
        "landed": "landed|lnd|boated|kept|netted|caught|in the box|in the boat|landet|tatt|landad"
        "|gelandet|entnommen|sortie|gardé|au sec|geland|capturado|i båten|pris"
        "|on board|preso|salpato|saatu|złowiony|yes|y|harvested|box|boxed|to hand|at boat"
        "|gevangen|taken",
        "released": "released|rel|returned|live release|c&r|catch and release|let go|put back"
        "|thrown back|sluppet"
        "|satt ut|släppt|återutsatt|zurückgesetzt|released ok|relâché|relache|remis"
        "|teruggezet|soltado|gjenutsatt|genudsat|rilasciato|vapautettu|devolvido"
        "|wypuszczony|let it go",
        "lost": "lost|lst|dropped|pulled hook|lost at net|lost at boat|verspeeld|off|came off"
        "|got off|threw hook|broke off|shook off|mistet"
        "|tappad|tappet|verloren|ausgestiegen|perdu|décroché|kwijt|perdido|tabt|perso"
        "|slamato|karkasi|spadł|spięty",
        "missed": "missed|mis|missed it|miss|knock|no hook-up|no connect|drive by|no hook"
        "|short strike|bom|fehlbiss|verpasst"
        "|raté|rate|manqué|gemist|fallado|bare napp|ikke kroket|misset|mancato|ohi"
        "|falhado|puste branie",
    },
    "ended_by": {
        "strike": "strike|hit|fish|napp|hugg|fisk|biss|touche|poisson|beet|picada|hug|abboccata"
        "|tärppi|toque|branie|fish on",
        "moved": "moved|move|changed|flyttet|flyttad|endret|umgesetzt|geändert|déplacé|changé"
        "|verplaatst|movido|spostato|siirretty|mudado|przestawiony|reset",
        "false release": "false release|falsk utløsning|utløst|fehlauslösung|faux départ"
        "|déclenchement|valse release",
        "tangle": "tangle|tangled|floke|vase|trassel|verhedderung|vertüddelt|emmêlé|noeud|knoop"
        "|enredo|filter|groviglio|sotku|enredado|splątanie|tangled up",
        "end": "end|end of trip|lines out|slutt|slut|ende|schluss|fin|einde|ferdig|fine"
        "|loppu|fim|koniec|done",
    },
    "speed_kind": {
        "water": "water|stw|paddle|paddlewheel|paddle wheel|log|probe|through water|vann|vatten"
        "|wasser|eau|gjennom vann|vand|acqua|vesi"
        "|água|woda",
        "ground": "ground|sog|gps|over ground|grunn|grund|fond|over grunn|bund|fondo|pohja|maa"
        "|fundo|dno",
    },
    "what": {
        "in": "in|ut|down|rein|set|deployed|set out",
        "out": "out|opp|up|raus|pulled|retrieved|taken in",
    },
}

GEAR_KINDS: Mapping[str, str] = {
    "diver": "diver|divers|div|diving plate|disc|dykker|dykare|taucher|scheibe"
    "|tauchscheibe|plongeur|disk|duiker"
    "|directional|affondatore|sukeltaja|takaa sukeltava|nurek",
    "rigger": "rigger|riggers|rig|downrigger|rigg|dypvannsrigg|djuprigg|schlepprigger"
    "|downriggers|ball|dr"
    "|dybderig|takila|syvätakila|affondatore a palla",
    "weighted line": "leadcore|lead core|lead line|leadline|loodlijn|wire|steel|copper|blyline"
    "|bly|bleileine|bleischnur|plombée|plomb"
    "|weighted line|weighted|kobber|kupfer|lc",
    "flat line": "flat|fl|flat lines|flat line|flatline|toppline|overflate|flachleine|surface"
    "|ligne plate"
    "|long line|topp|oberfläche|superficie|pinta|pintasiima|powierzchnia",
}
