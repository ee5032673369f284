"""Names in many scripts, all invented, for tests of what prints them."""

import random

NAMES = {
    "Latin": "Þórhildur Wójcikówna-Šafářová",
    "Vietnamese": "Nguyễn Thị Phương Thảo",
    "Greek": "Ελευθερία Παπαδοπούλου",
    "Cyrillic": "Владислава Чернышёва",
    "Arabic": "محمد عبد الرحمن",
    "Persian": "پژمان گلچین‌فر",
    "Hebrew": "נֹעַם בֶּן־דָּוִד",
    "Devanagari": "अनुराधा कृष्णमूर्ति",
    "Bengali": "সৌমিত্র চট্টোপাধ্যায়",
    "Tamil": "சுப்பிரமணியன்",
    "Thai": "ศิริพร สุวรรณเศรษฐ์",
    "Georgian": "გიორგი ბერიძე",
    "Armenian": "Արամ Խաչատրյան",
    "Ethiopic": "አበበ ቢቂላ",
    "Chinese": "欧阳明月",
    "Japanese": "佐藤さくら ワカナ",
    "Korean": "김서연",
    "two scripts": "Yusuf (يوسف) Al-Hakim",
    "long": "Wolfeschlegelsteinhausenbergerdorff-Schwarzenbach-Oberhuber-Ötztal",
    "long, right to left": "عبد الرحمن بن محمد بن عبد العزيز بن سليمان الخوارزمي التميمي القرشي",
}


def random_name(choice: random.Random) -> str:
    """A name of one to six parts out of the names above, at times of several scripts.

    At most 200 characters, which is what the database keeps of a name.
    """
    if choice.random() < 0.3:
        parts = [part for name in NAMES.values() for part in name.split()]
    else:
        parts = choice.choice(list(NAMES.values())).split()
    name = " ".join(choice.choice(parts) for _ in range(choice.randint(1, 6)))
    return name[:200].strip()
