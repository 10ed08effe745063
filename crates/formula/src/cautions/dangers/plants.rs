//! Plants that harm, and seeds and beans that harm raw.

use super::super::danger::{BOILED, BOTH, Danger, HEATED, LEAVE_OUT, RAW, RECALLED};
use crate::Code;
use crate::called::GARLIC;
use crate::names::{NO_NAMES, Names};
use crate::nutrition::Species;
use measure::Grade::{Published, Recalled};
use measure::Severity::{Note, Stop, Warn};

/// Plants.
#[rustfmt::skip]
pub(super) const PLANTS: &[Danger] = &[
    Danger {
        code: Code::Grapes, substance: "grapes, raisins, sultanas, currants",
        names: Names {
            en: &["grape", "raisin", "sultana", "currant", "zante"],
            de: &["Weintraube", "Traube", "Rosine", "Sultanine", "Korinthe", "Weinbeere"],
            fr: &["raisin", "sultanine", "raisin de Corinthe"],
            es: &["uva", "pasas", "uva pasa", "pasa de Corinto"],
            except: &["grapeseed", "grape seed", "grapefruit", "grape tomato", "grape sugar", "blackcurrant", "redcurrant", "whitecurrant", "black currant", "red currant", "white currant", "Traubenkern", "Traubenzucker", "pépins de raisin", "semilla de uva", "uva ursi"],
            ..NO_NAMES
        },
        species: BOTH, severity: Stop,
        threshold: "no safe dose is known; signs from about 3 g raisins or 20 g grapes per kg body mass", advice: LEAVE_OUT,
        source: "veterinary trade press, seen; gram values computed", grade: Published,
    },
    Danger {
        code: Code::TartaricAcid, substance: "tartaric acid or cream of tartar, suspected to be what harms in grapes",
        names: Names {
            en: &["tartaric acid", "cream of tartar", "potassium bitartrate", "tamarind"],
            de: &["Weinsäure", "Weinstein", "Tamarinde"],
            fr: &["acide tartrique", "crème de tartre", "tamarin"],
            es: &["ácido tartárico", "crémor tártaro", "tamarindo"],
            e: &["334", "336"],
            ..NO_NAMES
        },
        species: &[Species::Dog], severity: Warn,
        threshold: "no safe dose is known", advice: "Use another acid (citric, lactic, acid phosphate); ask a veterinarian.",
        source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::Chocolate, substance: "chocolate or cocoa (theobromine, caffeine)",
        names: Names {
            en: &["chocolate", "cocoa", "cacao", "theobromine"],
            de: &["Schokolade", "Kakao", "Kochschokolade", "Vollmilchschokolade", "Zartbitterschokolade", "Theobromin"],
            fr: &["chocolat", "cacao", "théobromine"],
            es: &["chocolate", "cacao", "teobromina"],
            except: &["cocoa substitute", "cocoa butter", "Kakaobutter", "beurre de cacao", "manteca de cacao"],
            ..NO_NAMES
        },
        species: BOTH, severity: Stop,
        threshold: "methylxanthines: mild signs 20, heart 40 to 50, seizures from 60 mg per kg body mass; cocoa powder carries about 23 mg/g, milk chocolate 2.3 mg/g", advice: LEAVE_OUT,
        source: "veterinary manual text, copy seen; contents from public food composition data", grade: Published,
    },
    Danger {
        code: Code::Caffeine, substance: "coffee, tea, guarana, caffeine",
        names: Names {
            en: &["caffeine", "coffee", "tea", "guarana", "yerba mate", "kola nut", "matcha"],
            de: &["Koffein", "Coffein", "Kaffee", "Tee", "Schwarztee", "Grüntee", "Kolanuss"],
            fr: &["caféine", "café", "thé vert", "thé noir", "noix de kola"],
            es: &["cafeína", "café", "té verde", "té negro", "nuez de cola"],
            except: &["tea tree"],
            ..NO_NAMES
        },
        species: BOTH, severity: Stop, threshold: "as for chocolate", advice: LEAVE_OUT, source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::Onion, substance: "onion, leek, chive, shallot and the rest of the genus Allium",
        names: Names {
            en: &["onion", "leek", "chive", "shallot", "scallion", "ramson", "wild garlic", "allium"],
            de: &["Zwiebel", "Röstzwiebel", "Frühlingszwiebel", "Lauch", "Porree", "Schnittlauch", "Schalotte", "Bärlauch"],
            fr: &["oignon", "poireau", "ciboulette", "ciboule", "échalote", "ail des ours"],
            es: &["cebolla", "puerro", "cebollino", "cebolleta", "chalota"],
            except: &["allium sativum"],
            ..NO_NAMES
        },
        species: BOTH, severity: Stop,
        threshold: "red cells are damaged from about 15 g (dog) or 5 g (cat) fresh onion per kg body mass; powder is 7 to 9 times as strong", advice: LEAVE_OUT,
        source: "veterinary review, reprint seen; factor for powder from memory", grade: Published,
    },
    Danger {
        code: Code::Garlic, substance: "garlic",
        names: GARLIC,
        species: &[Species::Cat], severity: Stop,
        threshold: "cats are more sensitive than dogs", advice: LEAVE_OUT, source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::Macadamia, substance: "macadamia",
        names: Names { en: &["macadamia", "queensland nut"], ..NO_NAMES },
        species: BOTH, severity: Stop,
        threshold: "weakness in dogs from 0.7, usually 2.4 g per kg body mass", advice: LEAVE_OUT,
        source: "case series, abstract seen", grade: Published,
    },
    Danger {
        code: Code::Hops, substance: "hops",
        names: Names { en: &["hop", "hop pellet", "hop extract"], de: &["Hopfen"], fr: &["houblon"], es: &["lúpulo"], ..NO_NAMES },
        species: BOTH, severity: Stop,
        threshold: "runaway body temperature in dogs; no safe dose is known", advice: LEAVE_OUT, source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::Hops, substance: "spent grain that may have met hops",
        names: Names {
            en: &["spent grain", "brewers grain", "brewer s grain", "brewers dried grain", "brewers spent", "draff"],
            de: &["Biertreber", "Treber"], fr: &["drêche de brasserie", "drêches"], es: &["bagazo de cerveza", "bagazo cervecero"],
            ..NO_NAMES
        },
        species: BOTH, severity: Warn,
        threshold: "hops make the body temperature of dogs run away; no safe dose is known",
        advice: "Use only grain that was never hopped, from a lot whose brewer confirms it in writing.",
        source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::Hops, substance: "yeast from hopped beer",
        names: Names {
            en: &["brewers yeast", "brewer s yeast", "brewers dried yeast"],
            de: &["Bierhefe"], fr: &["levure de bière"], es: &["levadura de cerveza"],
            ..NO_NAMES
        },
        species: BOTH, severity: Note,
        threshold: "brewers' yeast can carry hop bitters; no safe dose of hops is known", advice: "Buy debittered feed or food grade yeast.",
        source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::Nutmeg, substance: "nutmeg or mace",
        names: Names {
            en: &["nutmeg", "mace", "pumpkin pie mix", "pumpkin pie spice"],
            de: &["Muskat", "Macis"], fr: &["noix de muscade", "muscade", "macis"], es: &["nuez moscada", "macis"],
            ..NO_NAMES
        },
        species: BOTH, severity: Warn, threshold: "no level is set", advice: "Leave it out.", source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::Avocado, substance: "avocado",
        names: Names { en: &["avocado", "guacamole"], fr: &["avocat"], es: &["aguacate", "palta"], ..NO_NAMES },
        species: BOTH, severity: Warn, threshold: "no level is set", advice: "Leave it out, above all skin and stone.", source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::Kernels, substance: "stones and seeds of fruit (amygdalin)",
        names: Names {
            en: &["apple seed", "cherry stone", "cherry pit", "peach stone", "peach pit", "plum stone", "apricot kernel", "bitter almond"],
            de: &["Apfelkern", "Kirschkern", "Pfirsichkern", "Aprikosenkern", "Bittermandel"],
            fr: &["noyau de cerise", "noyau de pêche", "amande d'abricot", "amande amère"],
            es: &["hueso de cereza", "hueso de albaricoque", "almendra amarga"],
            ..NO_NAMES
        },
        species: BOTH, severity: Warn,
        threshold: "they set free cyanide; feed may hold 50 mg hydrogen cyanide per kg", advice: "Leave them out.",
        source: "Directive 2002/32/EC, seen; the rest from memory, to be confirmed", grade: Published,
    },
    Danger {
        code: Code::Cyanide, substance: "raw manioc (cassava), which sets free cyanide",
        names: Names {
            en: &["cassava", "manioc", "yuca"], de: &["Maniok"], fr: &["manioc"], es: &["yuca", "mandioca"],
            except: &["cassava starch", "manioc starch", "Maniokstärke", "fécule de manioc", "almidón de yuca", "almidón de mandioca"],
            unless: HEATED,
            ..NO_NAMES
        },
        species: BOTH, severity: Warn,
        threshold: "feed may hold 50, manioc products 100 mg hydrogen cyanide per kg",
        advice: "Take starch or boiled root, or a lot with its hydrogen cyanide on the certificate.",
        source: "Directive 2002/32/EC, seen", grade: Published,
    },
    Danger {
        code: Code::Cyanide, substance: "linseed, which sets free cyanide when it is ground and wetted",
        names: Names {
            en: &["linseed", "flaxseed", "flax seed"], de: &["Leinsamen", "Leinsaat"], fr: &["graine de lin", "graines de lin"], es: &["linaza", "semilla de lino"],
            except: &["linseed oil", "flaxseed oil", "flax seed oil", "Leinöl", "huile de lin", "aceite de linaza"],
            ..NO_NAMES
        },
        species: BOTH, severity: Note,
        threshold: "linseed may hold 250, feed 50 mg hydrogen cyanide per kg",
        advice: "Keep it a small part; ask for hydrogen cyanide on the certificate.",
        source: "Directive 2002/32/EC, seen", grade: Published,
    },
    Danger {
        code: Code::TreeNuts, substance: "tree nuts",
        names: Names {
            en: &["almond", "walnut", "pecan", "hazelnut", "pistachio", "cashew", "brazil nut", "pine nut"],
            de: &["Mandel", "Walnuss", "Pekannuss", "Haselnuss", "Pistazie", "Cashew", "Paranuss", "Pinienkern"],
            fr: &["amande", "noix de pécan", "noisette", "pistache", "noix de cajou", "noix du Brésil", "pignon de pin", "cerneau"],
            es: &["almendra", "nuez", "nueces", "avellana", "pistacho", "anacardo", "piñón"],
            except: &["bitter almond", "Bittermandel", "amande amère", "amande d'abricot", "almendra amarga", "nuez moscada", "nuez de cola"],
            ..NO_NAMES
        },
        species: BOTH, severity: Warn, threshold: "rich in fat, may be mouldy, and an allergen for people", advice: "Leave them out, or ask a veterinarian.",
        source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::BeanLectin, substance: "kidney beans that aren't said to be cooked (phytohaemagglutinin)",
        names: Names {
            en: &["kidney bean", "red bean", "phaseolus"],
            de: &["Kidneybohne", "rote Bohne", "rote Bohnen"],
            fr: &["haricot rouge", "haricots rouges"],
            es: &["alubia roja", "alubias rojas", "frijol rojo", "frijoles rojos", "judía roja", "judías rojas"],
            unless: BOILED,
            ..NO_NAMES
        },
        species: BOTH, severity: Stop,
        threshold: "raw beans hold 20 000 to 70 000 units of lectin, cooked 200 to 400; heating to 80 °C only may raise it fivefold",
        advice: "Boil for 10 to 30 min before, or buy flour that is said to be cooked: a biscuit's core is no cooking. Say so in the name.",
        source: "public health handbook on food-borne toxins, seen", grade: Published,
    },
    Danger {
        code: Code::BeanLectin, substance: "beans that aren't said to be cooked (lectins)",
        names: Names {
            en: &["white bean", "navy bean", "black bean", "pinto bean", "broad bean", "faba bean", "bean flour"],
            de: &["weiße Bohne", "weiße Bohnen", "schwarze Bohne", "Ackerbohne", "Bohnenmehl"],
            fr: &["haricot blanc", "haricots blancs", "haricot noir", "fève", "farine de haricot"],
            es: &["alubia", "alubias", "frijol", "judía", "haba", "harina de haba"],
            except: &["cocoa bean", "carob bean", "alubia roja", "alubias rojas", "frijol rojo", "frijoles rojos", "judía roja", "judías rojas", "fève de cacao", "haba de soja"],
            unless: BOILED,
            ..NO_NAMES
        },
        species: BOTH, severity: Warn,
        threshold: "white kidney beans hold a third, broad beans 5 to 10 % of the lectin of red ones",
        advice: "Boil them before, or buy flour that is said to be cooked, and say so in the name.",
        source: "public health handbook on food-borne toxins, seen", grade: Published,
    },
    Danger {
        code: Code::RawSoy, substance: "raw soy (trypsin inhibitor)",
        names: Names {
            en: &["soy", "soya", "soybean", "soyabean"], de: &["Soja", "Sojamehl"], fr: &["soja"], es: &["soja", "soya"],
            with: RAW, unless: HEATED,
            ..NO_NAMES
        },
        species: BOTH, severity: Warn,
        threshold: "toasted meal holds 2 to 6 mg/g of the inhibitor, raw flour several times as much; at 10 % water 110 °C doesn't break it, 125 °C does",
        advice: "Buy toasted flour or meal; a biscuit bake is no treatment.",
        source: "feed literature, seen", grade: Published,
    },
    Danger {
        code: Code::RawSoy, substance: "soy that isn't said to be heated (trypsin inhibitor)",
        names: Names {
            en: &["soy flour", "soya flour", "soy meal", "soya meal", "soybean", "soyabean", "soy bean", "soya bean"],
            de: &["Sojamehl", "Sojabohne", "Sojaschrot"],
            fr: &["farine de soja", "graine de soja", "graines de soja", "tourteau de soja"],
            es: &["harina de soja", "haba de soja", "habas de soja", "torta de soja"],
            except: &["soybean oil", "soyabean oil", "soy bean oil", "soya bean oil", "soybean lecithin", "Sojabohnenöl"],
            unless: HEATED,
            ..NO_NAMES
        },
        species: BOTH, severity: Note,
        threshold: "toasted meal holds 2 to 6 mg/g of the inhibitor, raw flour several times as much",
        advice: "Ask whether it was toasted and say so in the name; a biscuit bake is no treatment.",
        source: "feed literature, seen", grade: Published,
    },
    Danger {
        code: Code::Oxalate, substance: "rhubarb leaf or star fruit (oxalate)",
        names: Names {
            en: &["rhubarb leaf", "rhubarb leaves", "star fruit", "starfruit", "carambola"],
            de: &["Rhabarberblatt", "Rhabarberblätter", "Sternfrucht", "Karambole"],
            fr: &["feuille de rhubarbe", "feuilles de rhubarbe", "carambole"],
            es: &["hoja de ruibarbo", "hojas de ruibarbo", "carambola"],
            ..NO_NAMES
        },
        species: BOTH, severity: Stop, threshold: "no level is set; it harms the kidneys", advice: LEAVE_OUT, source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::Oxalate, substance: "rhubarb (oxalate)",
        names: Names {
            en: &["rhubarb"], de: &["Rhabarber"], fr: &["rhubarbe"], es: &["ruibarbo"],
            except: &["rhubarb leaf", "rhubarb leaves", "Rhabarberblatt", "Rhabarberblätter", "feuille de rhubarbe", "feuilles de rhubarbe", "hoja de ruibarbo", "hojas de ruibarbo"],
            ..NO_NAMES
        },
        species: BOTH, severity: Warn, threshold: "no level is set; the leaf is worst", advice: "Leave it out.", source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::Solanine, substance: "tomato leaf or green potato (solanine)",
        names: Names {
            en: &["tomato leaf", "tomato leaves", "tomato vine", "green potato", "potato sprout", "green tomato"],
            de: &["Tomatenblatt", "Tomatenblätter", "Tomatenkraut", "grüne Kartoffel", "Kartoffelkeim", "Solanin"],
            fr: &["feuille de tomate", "feuilles de tomate", "pomme de terre verte", "germe de pomme de terre", "solanine"],
            es: &["hoja de tomate", "hojas de tomate", "patata verde", "brote de patata", "solanina"],
            ..NO_NAMES
        },
        species: BOTH, severity: Stop, threshold: "no level is set; ripe fruit and its pomace are another thing", advice: LEAVE_OUT, source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::Pyrrolizidines, substance: "comfrey, borage, coltsfoot (pyrrolizidine alkaloids)",
        names: Names {
            en: &["comfrey", "symphytum", "borage", "coltsfoot", "ragwort"],
            de: &["Beinwell", "Borretsch", "Huflattich", "Jakobskreuzkraut"],
            fr: &["consoude", "bourrache", "tussilage", "séneçon"],
            es: &["consuelda", "borraja", "tusílago", "senecio"],
            except: &["borage oil", "borage seed oil", "Borretschöl", "huile de bourrache", "aceite de borraja"],
            ..NO_NAMES
        },
        species: BOTH, severity: Stop, threshold: "they harm the liver; no safe dose is agreed", advice: LEAVE_OUT, source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::EssentialOils, substance: "essential oils",
        names: Names {
            en: &["essential oil", "tea tree", "melaleuca", "citrus oil", "orange oil", "lemon oil", "peppermint oil", "eucalyptus", "wintergreen", "pennyroyal", "clove oil", "cinnamon oil", "thyme oil", "oregano oil"],
            de: &["ätherisches Öl", "Teebaum", "Teebaumöl", "Orangenöl", "Zitronenöl", "Pfefferminzöl", "Eukalyptus", "Wintergrün", "Poleiminze", "Nelkenöl", "Zimtöl", "Thymianöl", "Oreganoöl"],
            fr: &["huile essentielle", "arbre à thé", "eucalyptus", "gaulthérie", "menthe pouliot"],
            es: &["aceite esencial", "árbol del té", "eucalipto", "gaulteria", "poleo", "aceite de clavo", "aceite de naranja", "aceite de limón"],
            ..NO_NAMES
        },
        species: BOTH, severity: Stop, threshold: "small amounts harm, cats above all", advice: LEAVE_OUT, source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::Hemp, substance: "hemp or cannabidiol",
        names: Names { en: &["hemp", "cbd", "cannabidiol", "cannabis"], de: &["Hanf"], fr: &["chanvre"], es: &["cáñamo"], ..NO_NAMES },
        species: BOTH, severity: Warn, threshold: "not approved or only under conditions", advice: "Ask counsel and the feed authority.", source: RECALLED, grade: Recalled,
    },
    Danger {
        code: Code::Mycotoxin, substance: "material at risk of aflatoxin",
        names: Names {
            en: &["peanut", "groundnut"], de: &["Erdnuss"], fr: &["arachide", "cacahuète"], es: &["cacahuete", "maní"],
            except: &["peanut oil", "groundnut oil", "Erdnussöl", "huile d'arachide", "aceite de cacahuete"],
            ..NO_NAMES
        },
        species: BOTH, severity: Note,
        threshold: "aflatoxin B1 at most 10 µg (EU compound feed, from memory), total 20 µg per kg where the use is not known (US)",
        advice: "Buy tested lots and keep the certificate: baking doesn't break it.",
        source: "summary of FDA action levels, seen", grade: Published,
    },
    Danger {
        code: Code::Mycotoxin, substance: "maize, at risk of aflatoxin, fumonisins, zearalenone and deoxynivalenol",
        names: Names {
            en: &["maize", "corn"], de: &["Mais", "Maismehl", "Maisgrieß"], fr: &["maïs"], es: &["maíz"],
            except: &["corn syrup", "corn starch", "cornstarch", "maize starch", "corn oil", "Maisstärke", "Maisöl", "amidon de maïs", "sirop de maïs", "huile de maïs", "almidón de maíz", "aceite de maíz", "jarabe de maíz"],
            ..NO_NAMES
        },
        species: BOTH, severity: Note,
        threshold: "per kg feed: aflatoxin 20 µg, fumonisins 5 mg (EU) or 10 mg (US), deoxynivalenol 2 mg for dogs and 5 mg for cats, zearalenone 0.1 to 0.2 mg",
        advice: "Buy tested lots and keep the certificate: baking doesn't break them.",
        source: "summaries of EU guidance values and FDA levels, partly seen, partly from memory", grade: Recalled,
    },
    Danger {
        code: Code::Mycotoxin, substance: "grain or spent grain, at risk of deoxynivalenol, ochratoxin A and ergot",
        names: Names {
            en: &["wheat", "rye", "barley", "oat", "spelt", "triticale", "sorghum", "spent grain", "brewers grain", "brewers spent"],
            de: &["Weizen", "Roggen", "Gerste", "Hafer", "Dinkel", "Triticale", "Treber", "Biertreber"],
            fr: &["blé", "seigle", "orge", "avoine", "épeautre", "triticale", "drêche"],
            es: &["trigo", "centeno", "cebada", "avena", "espelta", "triticale", "bagazo de cerveza"],
            except: &["wheat gluten", "wheat starch", "barley malt extract", "Weizengluten", "Weizenstärke", "gluten de blé", "amidon de blé", "gluten de trigo", "almidón de trigo"],
            ..NO_NAMES
        },
        species: BOTH, severity: Note,
        threshold: "per kg feed: deoxynivalenol 2 mg for dogs and 5 mg for cats, ochratoxin A 0.01 mg, T-2 with HT-2 0.25 mg and 0.05 mg for cats; ergot 1 g per kg unground rye",
        advice: "Buy tested lots and keep the certificate: baking doesn't break them.",
        source: "summaries of EU guidance values, partly seen, partly from memory", grade: Recalled,
    },
];
