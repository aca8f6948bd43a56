//! Somebody at the desk, by the same forms that a browser sends.

use crate::Phone;
use anyhow::{Context, Result, ensure};
use ledger::WatchId;
use reqwest::{Client, Response, header, redirect::Policy};

/// A signed-in dispatcher.
pub struct Desk {
    url: String,
    client: Client,
    cookie: String,
}

/// A watch as it is told on the telephone.
#[derive(Debug, Clone)]
pub struct Opening {
    /// The site's name.
    pub name: &'static str,
    /// Street and number.
    pub address: &'static str,
    /// Floors, bottom to top; each becomes a zone with one stop.
    pub floors: u32,
    /// Longest gap, minutes.
    pub gap_min: u32,
    /// What is out, as the form's code.
    pub out: &'static str,
    /// The guard.
    pub guard: &'static str,
    /// The guard's language.
    pub language: &'static str,
    /// The order.
    pub order: &'static str,
    /// The plan file, if the place is known by more than its floors.
    pub plan: Option<&'static str>,
}

impl Desk {
    /// Makes the first account by its one-time link.
    pub async fn begin(url: &str, link: &str, password: &str) -> Result<Desk> {
        let client = crate::web_client::builder().redirect(Policy::none()).build()?;
        let mut desk = Desk { url: url.to_owned(), client, cookie: String::new() };
        let path = link.strip_prefix(url).context("the link leads to this server")?.to_owned();
        let form = [
            ("house", "Lantern Guards"),
            ("tz", "America/Chicago"),
            ("name", "Rosa Quill"),
            ("login", "rosa"),
            ("password", password),
        ];
        let answer = desk.post(&path, &form).await?;
        let cookie =
            answer.headers().get(header::SET_COOKIE).context("the account was not made")?;
        desk.cookie = cookie.to_str()?.split(';').next().unwrap_or_default().to_owned();
        Ok(desk)
    }

    /// Keeps a demonstration site with its plan, a file of any format that the desk reads; returns its
    /// id.
    pub async fn site(&self, opening: &Opening, plan: &[u8]) -> Result<String> {
        let form = [
            ("name", opening.name),
            ("address", opening.address),
            ("town", "Port Gannet"),
            ("tz", "America/Chicago"),
            ("practice", "demo"),
            ("emergency", ""),
        ];
        let answer = self.post("/sites/new", &form).await?;
        let status = answer.status();
        let Some(to) = answer.headers().get(header::LOCATION).cloned() else {
            anyhow::bail!("the site was not kept ({status}): {}", answer.text().await?)
        };
        let path = to.to_str()?.to_owned();
        let answer = self.upload(&format!("{path}/plan"), ("file", "plan.json"), plan).await?;
        ensure!(answer.status().is_success(), "the plan was not taken: {}", answer.text().await?);
        Ok(path.trim_start_matches("/sites/").to_owned())
    }

    /// Opens a demonstration watch; returns it and the path of its guard's enrolment page.
    pub async fn open(&self, opening: &Opening, from_local: &str) -> Result<(WatchId, String)> {
        match opening.plan {
            Some(plan) => {
                let site = self.site(opening, plan.as_bytes()).await?;
                self.open_at(opening, &site, from_local).await
            }
            None => self.open_at(opening, "", from_local).await,
        }
    }

    /// Opens a demonstration watch at a site that the desk keeps; at its floors alone without one.
    pub async fn open_at(
        &self,
        opening: &Opening,
        site: &str,
        from_local: &str,
    ) -> Result<(WatchId, String)> {
        let floors = if site.is_empty() { opening.floors } else { 0 };
        let (floors, gap_min) = (floors.to_string(), opening.gap_min.to_string());
        let form = [
            ("site", site),
            ("name", opening.name),
            ("address", opening.address),
            ("town", "Port Gannet"),
            ("tz", "America/Chicago"),
            ("floors", &floors),
            ("gap_min", &gap_min),
            ("source_from", "authority"),
            ("source", opening.order),
            ("from", from_local),
            ("out", opening.out),
            ("guard_name", opening.guard),
            ("guard_number", "+1 555 0142"),
            ("language", opening.language),
            ("practice", "demo"),
            ("instructions", "Keys at the porter. Start at the bottom."),
            ("anyway", "yes"),
        ];
        let answer = self.post("/watch/new", &form).await?;
        let status = answer.status();
        let to = answer.headers().get(header::LOCATION).cloned();
        let Some(to) = to else {
            anyhow::bail!("the watch was not opened ({status}): {}", answer.text().await?)
        };
        let path = to.to_str()?.to_owned();
        let page = self.page(&path).await?;
        let watch = between(&page, "href=\"/watch/", "\"").context("the page names its watch")?;
        Ok((WatchId::new(watch)?, path))
    }

    /// Lets a phone in: token, code read aloud, yes.
    pub async fn let_in(&self, path: &str, phone: &mut Phone) -> Result<()> {
        let token = self.token(path).await?;
        phone.ask_in(&token).await?;
        ensure!(
            self.post(path, &[("same", "true")]).await?.status().is_redirection(),
            "not let in"
        );
        phone.is_in(&token).await
    }

    /// The one-time token that an enrolment page shows.
    pub async fn token(&self, path: &str) -> Result<String> {
        between(&self.page(path).await?, "#enrol=", "<").context("the page shows its link")
    }

    /// Takes a person in and makes a link for their phone; returns the path of its page.
    pub async fn person_in(&self, name: &str) -> Result<(String, String)> {
        let form =
            [("name", name), ("number", "+1 555 0143"), ("language", "en"), ("role", "guard")];
        let answer = self.post("/people", &form).await?;
        ensure!(
            answer.status().is_redirection(),
            "the person was not taken in: {}",
            answer.text().await?
        );
        let person = self.person(name).await?;
        let answer = self.post(&format!("/people/{person}/enrol"), &[]).await?;
        let to = answer.headers().get(header::LOCATION).context("no link was made")?;
        Ok((person, to.to_str()?.to_owned()))
    }

    /// The id of a person.
    pub async fn person(&self, name: &str) -> Result<String> {
        let list = self.page("/people").await?;
        let before = list.split(name).next().context("the list names the person")?;
        let person = before.rsplit("href=\"/people/").next().context("with a link")?;
        Ok(person.split('"').next().context("to their page")?.to_owned())
    }

    /// Makes the link of an enrolment page anew; returns the path of the new page.
    pub async fn once_more(&self, path: &str) -> Result<String> {
        let answer = self.post(&format!("{path}/again"), &[]).await?;
        let to = answer.headers().get(header::LOCATION).context("no new link was made")?;
        Ok(to.to_str()?.to_owned())
    }

    /// Plans a person for a watch.
    pub async fn plan(&self, watch: &WatchId, person: &str, from: &str, until: &str) -> Result<()> {
        let form = [("person", person), ("from", from), ("until", until)];
        let answer = self.post(&format!("/watch/{watch}/guard"), &form).await?;
        ensure!(answer.status().is_redirection(), "not planned: {}", answer.text().await?);
        Ok(())
    }

    /// The bytes behind a link.
    pub async fn download(&self, path: &str) -> Result<Vec<u8>> {
        let request = self.client.get(format!("{}{path}", self.url));
        let answer = request.header(header::COOKIE, &self.cookie).send().await?;
        ensure!(answer.status().is_success(), "{path}: {}", answer.status());
        Ok(answer.bytes().await?.to_vec())
    }

    /// The text of a page.
    pub async fn page(&self, path: &str) -> Result<String> {
        let request = self.client.get(format!("{}{path}", self.url));
        let answer = request.header(header::COOKIE, &self.cookie).send().await?;
        ensure!(answer.status().is_success(), "{path}: {}", answer.status());
        Ok(answer.text().await?)
    }

    /// Hands in the picture of a page; returns the path of the page on which its lines are typed.
    pub async fn hand_in(&self, watch: &WatchId, picture: &[u8]) -> Result<String> {
        let path = format!("/watch/{watch}/pages");
        let answer = self.upload(&path, ("picture", "page.png"), picture).await?;
        let to = answer.headers().get(header::LOCATION).cloned();
        let Some(to) = to else {
            anyhow::bail!("the picture was not taken: {}", answer.text().await?)
        };
        Ok(to.to_str()?.to_owned())
    }

    /// Makes a link by which an inspector reads a watch.
    pub async fn inspector(&self, watch: &WatchId, whom: &str) -> Result<String> {
        let form = [("role", "inspector"), ("whom", whom), ("hours", "24")];
        let answer = self.post(&format!("/watch/{watch}/links"), &form).await?;
        let page = answer.text().await?;
        let token = between(&page, "/view/", "<").context("the page shows the link")?;
        Ok(format!("{}/view/{token}", self.url))
    }

    /// Sends one file as a form does (RFC 7578).
    async fn upload(
        &self,
        path: &str,
        (field, name): (&str, &str),
        bytes: &[u8],
    ) -> Result<Response> {
        const BETWEEN: &str = "between-the-parts-of-a-form";
        let head = format!(
            "--{BETWEEN}\r\nContent-Disposition: form-data; name=\"{field}\"; filename=\"{name}\"\r\n\
             Content-Type: application/octet-stream\r\n\r\n"
        );
        let tail = format!("\r\n--{BETWEEN}--\r\n");
        let body = [head.as_bytes(), bytes, tail.as_bytes()].concat();
        let request = self
            .client
            .post(format!("{}{path}", self.url))
            .header(header::COOKIE, &self.cookie)
            .header(header::ORIGIN, &self.url)
            .header(header::CONTENT_TYPE, format!("multipart/form-data; boundary={BETWEEN}"))
            .body(body);
        Ok(request.send().await?)
    }

    /// Sends a form.
    pub async fn post(&self, path: &str, form: &[(&str, &str)]) -> Result<Response> {
        let escape = |text: &str| -> String {
            let plain = |b: u8| b.is_ascii_alphanumeric();
            text.bytes()
                .map(|b| if plain(b) { char::from(b).to_string() } else { format!("%{b:02X}") })
                .collect()
        };
        let pairs: Vec<String> = form.iter().map(|(k, v)| format!("{k}={}", escape(v))).collect();
        let request = self
            .client
            .post(format!("{}{path}", self.url))
            .header(header::COOKIE, &self.cookie)
            .header(header::ORIGIN, &self.url)
            .header(header::CONTENT_TYPE, "application/x-www-form-urlencoded")
            .body(pairs.join("&"));
        Ok(request.send().await?)
    }
}

fn between(text: &str, from: &str, to: &str) -> Option<String> {
    let start = text.find(from)? + from.len();
    let end = text[start..].find(to)? + start;
    Some(text[start..end].to_owned())
}
