//! Printed pages read back: straight, and distorted by `imageproc`, which nobody here wrote.

mod drawing;

use drawing::{Hand, draw, truth};
use image::{GrayImage, Luma};
use imageproc::filter::gaussian_blur_f32;
use imageproc::geometric_transformations::{Interpolation, Projection, warp_into};
use ledger::WatchId;
use record::ZoneId;
use sheet::{
    Columns, Expected, Fault, GrayPicture, Kind, Naming, Page, PageSize, Reading, Tonight,
    missing_pages, pages, read,
};
use words::Lang;

const PIXELS_PER_TENTH: f64 = 0.8;
const NIGHT: &str = "\
site: Gannet Hotel, 3 Harbour Row, Gannet
id: w-gannet-hotel
date: 2026-02-10
watch: 20:00 to 06:00
gap guest-floor-1: 15 min
gap guest-floor-2: 15 min
gap kitchen: 30 min
gap boiler-room: 60 min
people: Ines

20:00 Ines begins until 06:00
";

/// The sheets of a told night.
fn tonight() -> Tonight {
    let bundle = night::tell(NIGHT).expect("a night").bundle().expect("a bundle");
    let mut watch = watch::Watch::new(WatchId::new("w-gannet-hotel").expect("an id"));
    for line in bundle::open(&bundle).lines {
        watch.add(watch::Held { line: line.line, sealing: None, words: None });
    }
    let state = watch.about(1_770_800_000_000);
    let naming = Naming {
        zone: &|id| id.as_str().replace('-', " "),
        person: &|id| id.to_string(),
        offset_min: &|_| 0,
        span: &|_, _| "10 to 11 February 2026".to_owned(),
    };
    Tonight::of(&state, None, Tonight::stretch(&state, 0), &naming, Lang::En)
}

fn night(size: PageSize) -> Vec<Page> {
    pages(&tonight(), &Columns::default(), size, Lang::En)
}

fn image_of(picture: &GrayPicture) -> GrayImage {
    let (w, h) = (picture.width() as u32, picture.height() as u32);
    GrayImage::from_raw(w, h, picture.pixels().to_vec()).expect("a pixel for each place")
}

fn picture_of(image: &GrayImage) -> GrayPicture {
    let (w, h) = image.dimensions();
    GrayPicture::new(w as usize, h as usize, image.as_raw().clone())
        .expect("a pixel for each place")
}

/// How many boxes are wrong without being flagged, and how many are flagged.
fn compare(reading: &Reading, page: &Page, hand: &Hand) -> (usize, usize) {
    assert_eq!(reading.code.as_ref(), Some(&page.code), "{:?}", reading.faults);
    let truth = truth(page, hand);
    assert_eq!(reading.boxes.len(), truth.len());
    for (b, t) in reading.boxes.iter().zip(&truth).filter(|(b, _)| b.unsure) {
        println!("unsure: {t} {b:?}");
    }
    let wrong = reading.boxes.iter().zip(&truth).filter(|(b, t)| !b.unsure && b.ticked != **t);
    (wrong.count(), reading.boxes.iter().filter(|b| b.unsure).count())
}

/// Looks at a page from a corner, on a dark table.
fn tilted(image: &GrayImage, turn: f32, tilt: f32) -> GrayImage {
    let (w, h) = image.dimensions();
    let (w, h) = (w as f32, h as f32);
    let middle = Projection::translate(-w / 2.0, -h / 2.0);
    let turned = Projection::rotate(turn);
    let lean =
        Projection::from_matrix([1.0, 0.0, 0.0, 0.0, 1.0, 0.0, tilt / w, tilt / (2.0 * h), 1.0])
            .expect("an invertible map");
    let side = (w * w + h * h).sqrt() * 1.05;
    let back = Projection::translate(side / 2.0, side / 2.0);
    let map = back * lean * turned * middle;
    let mut out = GrayImage::from_pixel(side as u32, side as u32, Luma([60]));
    warp_into(
        image,
        map,
        Interpolation::Bilinear,
        imageproc::geometric_transformations::Border::Constant(Luma([60])),
        &mut out,
    );
    out
}

/// A soft shadow over one side.
fn shadowed(image: &GrayImage) -> GrayImage {
    let width = image.width() as f32;
    GrayImage::from_fn(image.width(), image.height(), |x, y| {
        let light = 1.0 - 0.55 * (1.0 - x as f32 / width);
        Luma([(f32::from(image.get_pixel(x, y)[0]) * light) as u8])
    })
}

#[test]
fn a_straight_page_is_read_wholly_and_surely() {
    for size in PageSize::ALL {
        for (number, page) in night(size).iter().enumerate() {
            let hand = Hand { seed: 7 + number as u64, ..Hand::default() };
            let picture = draw(page, PIXELS_PER_TENTH, &hand);
            let reading = read(&picture, &Expected::default());
            assert_eq!(reading.kind, Kind::Sheet);
            assert_eq!(reading.faults, []);
            let (wrong, unsure) = compare(&reading, page, &hand);
            assert_eq!(wrong, 0, "{size:?} page {number}");
            // A tick that mostly missed its box is for a person to judge.
            assert!(
                unsure * 40 <= reading.boxes.len(),
                "{unsure} flagged on {size:?} page {number}"
            );
        }
    }
}

#[test]
fn turned_tilted_blurred_and_shadowed_pages_are_read_without_a_wrong_box() {
    let page = &night(PageSize::A4)[0];
    let mut flagged = 0;
    let mut boxes = 0;
    for (number, (turn, tilt)) in
        [(0.0, 0.0), (0.07, 0.15), (-0.05, -0.2), (1.571, 0.1), (3.1, 0.05), (4.7, -0.1)]
            .into_iter()
            .enumerate()
    {
        let hand = Hand { seed: 100 + number as u64, ..Hand::default() };
        let straight = image_of(&draw(page, PIXELS_PER_TENTH, &hand));
        let seen = shadowed(&gaussian_blur_f32(&tilted(&straight, turn, tilt), 1.2));
        let reading = read(&picture_of(&seen), &Expected::default());
        let (wrong, unsure) = compare(&reading, page, &hand);
        assert_eq!(wrong, 0, "turn {turn}, tilt {tilt}");
        flagged += unsure;
        boxes += reading.boxes.len();
    }
    assert!(flagged * 50 < boxes, "{flagged} of {boxes} boxes flagged");
}

#[test]
fn a_box_filled_black_and_a_mark_that_may_be_dirt_are_flagged() {
    let page = &night(PageSize::A4)[0];
    let hand = Hand { filled: vec![3], specks: vec![10], ..Hand::default() };
    let reading = read(&draw(page, PIXELS_PER_TENTH, &hand), &Expected::default());
    assert!(reading.boxes[3].unsure && !reading.boxes[3].ticked);
    assert!(reading.boxes[10].unsure);
    assert!(reading.boxes.iter().filter(|one| one.unsure).count() <= 3);
}

#[test]
fn any_other_picture_is_a_notepad_page_and_a_claim_is_answered() {
    let blank = GrayPicture::plain(900, 1200, 235);
    let reading = read(&blank, &Expected::default());
    assert_eq!((reading.kind, reading.faults.as_slice()), (Kind::Notepad, &[][..]));
    let claimed = Expected { is_sheet: true, ..Expected::default() };
    assert_eq!(read(&blank, &claimed).faults, [Fault::NoMarks]);
    let nothing = GrayPicture::plain(0, 0, 0);
    assert_eq!(read(&nothing, &Expected::default()).kind, Kind::Notepad);
}

#[test]
fn a_sheet_with_a_foreign_code_is_not_ours() {
    let mut page = night(PageSize::A4)[0].clone();
    for item in &mut page.items {
        if let sheet::Item::Code { text, .. } = item {
            *text = "HTTPS://EXAMPLE.ORG/A.SHEET.OF.SOMEBODY.ELSE".to_owned();
        }
    }
    let picture = draw(&page, PIXELS_PER_TENTH, &Hand::default());
    let reading = read(&picture, &Expected::default());
    assert_eq!((reading.kind, reading.faults), (Kind::Notepad, vec![Fault::NotOurs]));
}

#[test]
fn a_changed_code_and_a_hidden_code_are_told_apart() {
    let mut page = night(PageSize::A4)[0].clone();
    for item in &mut page.items {
        if let sheet::Item::Code { text, .. } = item {
            *text = text.replace("HOTEL", "MOTEL");
        }
    }
    let reading = read(&draw(&page, PIXELS_PER_TENTH, &Hand::default()), &Expected::default());
    assert_eq!(reading.faults, [Fault::Checksum]);
    page.items.retain(|item| !matches!(item, sheet::Item::Code { .. }));
    let reading = read(&draw(&page, PIXELS_PER_TENTH, &Hand::default()), &Expected::default());
    assert_eq!((reading.kind, reading.faults), (Kind::Notepad, vec![Fault::CodeUnread]));
}

#[test]
fn another_watchs_sheet_and_another_watchs_zone_are_refused_with_words() {
    let page = &night(PageSize::A4)[0];
    let picture = draw(page, PIXELS_PER_TENTH, &Hand::default());
    let other = WatchId::new("w-curlew-mill").unwrap();
    let expected = Expected::of_watch(other, Vec::new(), None);
    let says = read(&picture, &expected).faults[0].say(Lang::En);
    assert_eq!(
        says,
        "This sheet belongs to the watch w-gannet-hotel, not to w-curlew-mill. Bring it in there."
    );
    let zones = vec![ZoneId::new("kitchen").unwrap()];
    let expected = Expected::of_watch(page.code.watch.clone(), zones, Some((0, 1)));
    let faults = read(&picture, &expected).faults;
    assert!(faults.contains(&Fault::StrangeZone("guest-floor-1".into())), "{faults:?}");
    assert!(faults.contains(&Fault::StrangeWindow), "{faults:?}");
}

#[test]
fn a_missing_page_a_page_twice_and_a_page_of_another_set_are_named() {
    let pages = night(PageSize::Letter);
    let read =
        |page: &Page| read(&draw(page, PIXELS_PER_TENTH, &Hand::default()), &Expected::default());
    let first = read(&pages[0]);
    let last = read(pages.last().unwrap());
    assert_eq!(pages.len(), 3);
    assert_eq!(missing_pages(&[first.clone(), last.clone()]), [Fault::Missing(vec![2])]);
    let said = missing_pages(&[first.clone(), first.clone(), last.clone()]);
    assert_eq!(said, [Fault::Twice(1), Fault::Missing(vec![2])]);
    let other = read(&night(PageSize::A4)[1]);
    let all: Vec<Reading> = pages.iter().map(read).chain([other]).collect();
    assert!(matches!(missing_pages(&all)[..], [Fault::OtherSet { page: 2, .. }]));
}
