//! Hours in moments: the phone's clocks and the server's are set forward together.

use crate::chrome::Window;
use anyhow::Result;
use std::time::Duration;

/// Before any program of the page runs, its clocks are put ahead by what the page's storage says.
const AHEAD: &str = r#"(() => {
  const ahead = () => Number(localStorage.getItem("test-ahead-ms") ?? 0);
  const Real = Date, counted = performance.now.bind(performance);
  globalThis.Date = class extends Real {
    constructor(...given) { if (given.length) super(...given); else super(Real.now() + ahead()); }
    static now() { return Real.now() + ahead(); }
  };
  performance.now = () => counted() + ahead();
})()"#;

impl Window {
    /// The clocks of every page opened from now on obey [`Window::is_ahead`].
    pub(crate) async fn clocks_obey(&self) -> Result<()> {
        let source = serde_json::json!({ "source": AHEAD });
        self.driver.cdp().send_raw("Page.addScriptToEvaluateOnNewDocument", source).await?;
        Ok(())
    }

    /// Sets the clocks of the page that is open so far ahead of the machine's, and lets it notice.
    pub(crate) async fn is_ahead(&self, by: Duration) -> Result<()> {
        let set = format!("localStorage.setItem('test-ahead-ms', '{}')", by.as_millis());
        self.driver.execute(set, Vec::new()).await?;
        // The app looks at its clocks every second.
        tokio::time::sleep(Duration::from_millis(1_500)).await;
        Ok(())
    }
}
