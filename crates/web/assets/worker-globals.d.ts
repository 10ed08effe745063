/** What the program writes before the script: what it is called after, and the addresses of what pages are drawn with. */
declare const VERSION: string;
declare const DRAWN_WITH: string[];
