"""The same night report through reportlab, and through a browser that stays open.

peer.py versions FOLDER
peer.py photos FOLDER COUNT     photos as a phone takes them, 1600 x 1200, about 300 kB each
peer.py first FOLDER            data.json -> library.pdf
peer.py next FOLDER RUNS        data-1.json ...; prints the seconds of each as JSON
peer.py browser FOLDER CHROMEDRIVER CHROMIUM RUNS   report-1.html ...; prints the seconds of each
"""

import base64
import json
import shutil
import socket
import subprocess
import sys
import time
import urllib.request


def library(folder, named=""):
    from reportlab.lib.pagesizes import A4
    from reportlab.lib.styles import getSampleStyleSheet
    from reportlab.lib.units import mm
    from reportlab.platypus import Image, LongTable, Paragraph, SimpleDocTemplate, Spacer, TableStyle
    from xml.sax.saxutils import escape

    data = json.load(open("%s/data%s.json" % (folder, named)))
    sheet = data["sheet"]
    styles = getSampleStyleSheet()
    text, small = styles["BodyText"], styles["BodyText"]
    say = lambda words: Paragraph(escape(words), text)
    ruled = TableStyle([("LINEABOVE", (0, 1), (-1, -1), 0.5, "#cccccc"), ("VALIGN", (0, 0), (-1, -1), "TOP")])

    def table(title, head, rows, widths):
        parts = [Paragraph(escape(title), styles["Heading2"])] if title else []
        cells = [[say(cell) for cell in row] for row in [head] + rows]
        parts.append(LongTable(cells, colWidths=[w * mm for w in widths], repeatRows=1, style=ruled))
        return parts

    parts = [Paragraph(escape(sheet["title"]), styles["Title"]), say(sheet["subtitle"])]
    parts += [Paragraph(escape(sheet["verdict"]), styles["Heading1"]), say(sheet["rounds"])]
    parts += [dial(folder, named, sheet), Spacer(1, 4 * mm)]
    zone = lambda z: [z["name"], z["longest"], z["allowed"], z["judged"], z["sealed"]]
    parts += table("", sheet["zone_head"], [zone(z) for z in sheet["zones"]], [60, 30, 30, 30, 30])
    owed = lambda r: [r["what"], r["source"]]
    parts += table(sheet["owed"]["title"], sheet["owed_head"], [owed(r) for r in sheet["owed"]["rows"]], [90, 90])
    happened = [[r["time"], r["what"], r["state"]] for r in sheet["happened"]["rows"]]
    parts += table(sheet["happened"]["title"], sheet["happened_head"], happened, [20, 130, 30])
    parts += table(sheet["findings"]["title"], sheet["owed_head"], [owed(r) for r in sheet["findings"]["rows"]], [90, 90])
    log = [
        [r["happened"], r["written"], r["who"], " ".join([r["what"]["says"]] + r["what"]["words"] + r["what"]["marks"])]
        for r in sheet["log"]["rows"]
    ]
    parts += table(sheet["log"]["title"], sheet["log_head"], log, [20, 20, 40, 100])
    for file, photo in zip(data["files"], sheet["photos"]["rows"]):
        parts += [Image("%s/%s" % (folder, file), 80 * mm, 60 * mm), say(photo["says"]), say(photo["sha256"])]
    SimpleDocTemplate("%s/library%s.pdf" % (folder, named), pagesize=A4, lang="en").build(parts)


def dial(folder, named, sheet):
    """The dial's rings as circles: reportlab reads no SVG."""
    from reportlab.graphics.shapes import Circle, Drawing
    from reportlab.lib.colors import HexColor

    drawing = Drawing(260, 260)
    for ring in range(8, 2, -1):
        drawing.add(Circle(130, 130, ring * 15, fillColor=HexColor("#8b7d5f"), strokeColor=HexColor("#ffffff")))
    return drawing


def photos(folder, count):
    import numpy as np
    from PIL import Image, ImageFilter

    for number in range(count):
        rng = np.random.default_rng(number)
        coarse = Image.fromarray(rng.integers(0, 255, (30, 40, 3), dtype=np.uint8)).resize((1600, 1200))
        grain = np.asarray(coarse, np.int16) + rng.normal(0, 5, (1200, 1600, 3)).astype(np.int16)
        Image.fromarray(grain.clip(0, 255).astype(np.uint8)).save("%s/photo-%d.jpg" % (folder, number), quality=82)


def timed(runs, run):
    seconds = []
    for number in range(runs + 1):
        began = time.perf_counter()
        run(number)
        seconds.append(time.perf_counter() - began)
    print(json.dumps(seconds[1:]))


def browser(folder, driver, chromium, runs):
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = free.getsockname()[1]
    process = subprocess.Popen([driver, "--port=%d" % port], stdout=subprocess.DEVNULL)
    here = "http://127.0.0.1:%d" % port

    def ask(path, body):
        request = urllib.request.Request(here + path, json.dumps(body).encode(), {"Content-Type": "application/json"})
        return json.load(urllib.request.urlopen(request))["value"]

    try:
        for _ in range(100):
            try:
                urllib.request.urlopen(here + "/status")
                break
            except OSError:
                time.sleep(0.1)
        args = ["--headless", "--no-sandbox", "--disable-gpu"]
        wanted = {"goog:chromeOptions": {"binary": shutil.which(chromium), "args": args}}
        session = ask("/session", {"capabilities": {"alwaysMatch": wanted}})["sessionId"]

        def one(number):
            ask("/session/%s/url" % session, {"url": "file://%s/report-%d.html" % (folder, number)})
            pdf = ask("/session/%s/print" % session, {"page": {"width": 21.0, "height": 29.7}})
            open("%s/browser-%d.pdf" % (folder, number), "wb").write(base64.b64decode(pdf))

        timed(runs, one)
        request = urllib.request.Request(here + "/session/" + session, method="DELETE")
        urllib.request.urlopen(request)
    finally:
        process.terminate()


def versions():
    import numpy
    import PIL
    import reportlab

    found = {"python": sys.version.split()[0], "reportlab": reportlab.Version}
    print(json.dumps(dict(found, pillow=PIL.__version__, numpy=numpy.__version__)))


def main():
    what, folder, more = sys.argv[1], sys.argv[2], sys.argv[3:]
    if what == "versions":
        versions()
    elif what == "photos":
        photos(folder, int(more[0]))
    elif what == "first":
        library(folder)
    elif what == "next":
        timed(int(more[0]), lambda number: library(folder, "-%d" % number))
    elif what == "browser":
        browser(folder, more[0], more[1], int(more[2]))


main()
